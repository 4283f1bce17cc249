//! The people of the town, with numbers and addresses reserved for fiction.

use super::draw::Draw;

const FIRST: [&str; 44] = [
    "Alma", "Anselm", "Beatriz", "Bram", "Carmela", "Casimir", "Cora", "Delphine", "Dario", "Edda", "Elio", "Esteban",
    "Fern", "Fidel", "Greta", "Gilberto", "Hollis", "Ines", "Ivo", "Jocasta", "Joaquín", "Keziah", "Lázaro", "Leonie",
    "Lucía", "Magnus", "Marisol", "Merritt", "Nadia", "Néstor", "Odette", "Orson", "Paloma", "Quill", "Ramona",
    "Rufus", "Sabine", "Saúl", "Tamsin", "Tobias", "Úrsula", "Verity", "Wendel", "Ximena",
];

const LAST: [&str; 40] = [
    "Abelwick",
    "Aldarra",
    "Brackmoor",
    "Cantillana",
    "Carrowdale",
    "Crestfall",
    "Dunmarrow",
    "Ebbsworth",
    "Escarreta",
    "Fallowmere",
    "Fontarrosa",
    "Garravilla",
    "Greyholt",
    "Hartmoss",
    "Hollowell",
    "Ibarlucea",
    "Jessamere",
    "Kestrelby",
    "Larkenfield",
    "Lindaraja",
    "Marrowstone",
    "Montalbejo",
    "Netherby",
    "Nogueral",
    "Oakhanger",
    "Olivarre",
    "Pellworth",
    "Peñarrubia",
    "Quickthorn",
    "Ravenscar",
    "Rincorva",
    "Saltmarsh",
    "Sotoverde",
    "Thistlewood",
    "Torremora",
    "Underhay",
    "Valdecuna",
    "Wexmoor",
    "Yarrowgate",
    "Zarzalejo",
];

const TRADES: [&str; 14] = [
    "Bakery",
    "Laundry",
    "Car Wash",
    "Dental Rooms",
    "Fish Market",
    "Garden Center",
    "Inn",
    "Print Shop",
    "Storage",
    "Cannery",
    "Brewery",
    "Hardware",
    "Veterinary Rooms",
    "Cafe",
];

const BODIES: [&str; 8] = [
    "Parks Department",
    "Town Hall",
    "Public Library",
    "Ferry Terminal",
    "Fire Station 2",
    "Harbor Office",
    "Cemetery",
    "Works Yard",
];

/// Who is called about an assembly.
#[derive(Debug, Clone, Default)]
pub struct Party {
    /// Account.
    pub account: String,
    /// Name.
    pub name: String,
    /// Telephone number, as digits `2015550123`, with an extension behind it or not.
    pub phone: String,
    /// E-mail.
    pub email: String,
    /// `en` or `es`.
    pub language: &'static str,
    /// Channels as listed; empty when the person never said.
    pub channels: &'static str,
}

/// The number of a line: 100 lines of each area code, area codes in their order.
///
/// Lines 0100 to 0199 of every 555 exchange are kept for fiction (from memory of the North American numbering guidelines).
fn phone(line: usize) -> String {
    // Codes that end in 11 are services; those with 9 in the middle are reserved.
    let mut codes = (201..990).filter(|code| code % 100 != 11 && code / 10 % 10 != 9);
    let count = codes.clone().count();
    let code = codes.nth(line / 100 % count).unwrap_or(201);
    format!("{code}55501{:02}", line % 100)
}

/// The town's register of parties.
pub struct Register {
    next_line: usize,
    next_account: usize,
    managers: Vec<Party>,
}

impl Register {
    /// A register for a list of `rows`; the more rows, the more property managers.
    pub fn new(rows: usize) -> Self {
        let mut register = Self {
            // Lines 0100 to 0109 of the first code are the utility's and the public bodies'.
            next_line: 10,
            next_account: 10_417,
            managers: Vec::new(),
        };
        const ESTATES: [&str; 6] = [
            "Bittern Court Association",
            "Heron Park Estates Office",
            "Quayside Lofts Management",
            "Cairn Ridge Homes",
            "Weir Street Rentals",
            "Avocet Village Board",
        ];
        for index in 0..(rows / 700).max(3) {
            let estate = ESTATES.get(index % ESTATES.len()).copied().unwrap_or("Estate Office");
            let name = if index < ESTATES.len() {
                estate.to_owned()
            } else {
                format!("{estate} {}", 1 + index / ESTATES.len())
            };
            let party = Party {
                account: register.account(),
                name,
                phone: register.line(),
                email: format!("office{index}@example.org"),
                language: "en",
                channels: "call;email",
            };
            register.managers.push(party);
        }
        register
    }

    fn line(&mut self) -> String {
        self.next_line += 1;
        phone(self.next_line)
    }

    fn account(&mut self) -> String {
        self.next_account += 3;
        format!("{:06}", self.next_account)
    }

    /// A property manager; the first has more than the others.
    pub fn manager(&self, draw: &mut Draw) -> Party {
        let first = if self.managers.len() <= 3 { 0.5 } else { 0.02 };
        let at = if draw.chance(first) {
            0
        } else {
            draw.below(self.managers.len())
        };
        self.managers.get(at).cloned().unwrap_or_default()
    }

    /// A household.
    pub fn household(&mut self, draw: &mut Draw) -> Party {
        let (first, last) = (draw.of(&FIRST), draw.of(&LAST));
        let account = self.account();
        let host = draw.of(&["example.com", "example.net", "example.com"]);
        Party {
            email: format!("{}.{}{}@{host}", plain(first), plain(last), self.next_account % 1000),
            account,
            name: match draw.below(4) {
                0 => format!("{last}, {first}"),
                _ => format!("{first} {last}"),
            },
            phone: self.line(),
            language: draw.weighted(&[(76, "en"), (24, "es")]),
            channels: draw.weighted(&[
                (34, "call;text"),
                (16, "call;text;email"),
                (14, "text"),
                (8, "email"),
                (6, "call"),
                (4, "letter"),
                (4, "none"),
                (14, ""),
            ]),
        }
    }

    /// A business.
    pub fn business(&mut self, draw: &mut Draw) -> Party {
        let account = self.account();
        let number = self.next_account % 1000;
        let mut phone = self.line();
        if draw.chance(0.06) {
            phone.push_str(&format!("x{}", 2 + draw.below(90)));
        }
        Party {
            account,
            name: format!("{} {}", draw.of(&LAST), draw.of(&TRADES)),
            phone,
            email: format!("front.desk{number}@example.com"),
            language: draw.weighted(&[(88, "en"), (12, "es")]),
            channels: draw.weighted(&[(50, "call;email"), (20, "call"), (10, "email"), (2, "none"), (18, "")]),
        }
    }

    /// A public body; each keeps its one number.
    pub fn public_body(&mut self, draw: &mut Draw) -> Party {
        let at = draw.below(BODIES.len());
        Party {
            account: format!("0099{at:02}"),
            name: BODIES.get(at).copied().unwrap_or("Town Hall").to_owned(),
            phone: phone(1 + at),
            email: format!("duty{at}@example.org"),
            language: "en",
            channels: "call;email",
        }
    }

    /// A school, hospital or other critical customer.
    pub fn critical(&mut self, name: String) -> Party {
        Party {
            account: self.account(),
            name,
            phone: self.line(),
            email: format!("facilities{}@example.org", self.next_account % 1000),
            language: "en",
            channels: "call;text;email",
        }
    }
}

/// A name for an e-mail address.
fn plain(name: &str) -> String {
    name.to_lowercase()
        .chars()
        .map(|c| match c {
            'á' => 'a',
            'é' => 'e',
            'í' => 'i',
            'ó' => 'o',
            'ú' => 'u',
            'ñ' => 'n',
            other => other,
        })
        .collect()
}
