//! Search of the desk in 100,000 assemblies of the invented programme: how long, and whether who is asked for stands first.
//!
//! `cargo bench --bench search`. Every kind of thing that a caller can say is asked 400 times, of rows spread over the list, and what no row
//! has beside it. Prints a line a kind: the median, the 95th and 99th of a hundred and the longest time, and how often the row stood first and
//! was among the thirty that a page shows (of several rows with the same text each counts). Ends with status 1 when 95 % of all took 50 ms or more.
#![allow(clippy::unwrap_used, clippy::panic)]

use brimwater::demo::{Wish, files};
use brimwater::desk::search::Index;
use brimwater::inventory::{Assembly, read_assemblies};
use std::collections::BTreeMap;
use std::time::{Duration, Instant};

const ASSEMBLIES: usize = 100_000;
const TIMES: usize = 400;
/// Hits that a page shows.
const SHOWN: usize = 30;
const MOST: Duration = Duration::from_millis(50);

/// What a caller says of a row, and the text of other rows that fits it as well.
struct Kind {
    name: &'static str,
    say: fn(&Assembly, usize) -> Option<String>,
    same: fn(&Assembly) -> Option<String>,
}

/// One of the four slips [Damerau 1964, from memory], at a place and of a kind that `turn` chooses; never in the first letter.
fn slipped(word: &str, turn: usize) -> String {
    let mut letters: Vec<char> = word.chars().collect();
    if letters.len() < 4 {
        return word.to_owned();
    }
    let at = 1 + turn / 4 % (letters.len() - 2);
    match turn % 4 {
        0 => letters.swap(at, at + 1),
        1 => {
            letters.remove(at);
        }
        2 => letters.insert(at, letters[at]),
        _ => letters[at] = if letters[at] == 'e' { 'a' } else { 'e' },
    }
    letters.into_iter().collect()
}

/// The address with the longest word of its street misspelt.
fn misspelt(address: &str, turn: usize) -> String {
    let longest = address.split(' ').max_by_key(|word| word.len()).unwrap_or_default();
    address.replacen(longest, &slipped(longest, turn), 1)
}

fn digits(text: &str) -> Option<String> {
    let digits: String = text.chars().filter(char::is_ascii_digit).collect();
    (digits.len() == 10).then_some(digits)
}

fn end(text: &str, signs: usize) -> String {
    let marks: Vec<char> = text.chars().filter(|c| c.is_alphanumeric()).collect();
    marks[marks.len().saturating_sub(signs)..].iter().collect()
}

fn serial(assembly: &Assembly) -> Option<String> {
    let serial = assembly.extra.iter().find(|(header, _)| header.contains("serial"));
    serial
        .map(|(_, serial)| serial.to_string())
        .filter(|serial| serial.len() > 4)
}

fn address(assembly: &Assembly) -> Option<String> {
    assembly.contact.site_address.as_deref().map(str::to_owned)
}

fn id(assembly: &Assembly) -> Option<String> {
    Some(assembly.assembly_id.to_string())
}

fn account(assembly: &Assembly) -> Option<String> {
    assembly.contact.account_id.as_deref().map(str::to_owned)
}

fn phone(assembly: &Assembly) -> Option<String> {
    assembly.contact.phone.as_deref().and_then(digits)
}

fn name(assembly: &Assembly) -> Option<String> {
    assembly.contact.contact_name.as_deref().map(str::to_owned)
}

const KINDS: &[Kind] = &[
    Kind {
        name: "identifier",
        say: |row, _| id(row),
        same: id,
    },
    Kind {
        name: "last five of the identifier",
        say: |row, _| Some(end(&id(row)?, 5)),
        same: |row| Some(end(&id(row)?, 5)),
    },
    Kind {
        name: "account without its zeros",
        say: |row, _| Some(account(row)?.trim_start_matches('0').to_owned()),
        same: account,
    },
    Kind {
        name: "serial number",
        say: |row, _| serial(row).map(|serial| serial.to_lowercase()),
        same: serial,
    },
    Kind {
        name: "last five of the serial number",
        say: |row, _| Some(end(&serial(row)?, 5)),
        same: |row| Some(end(&serial(row)?, 5)),
    },
    Kind {
        name: "telephone, six forms",
        say: |row, turn| {
            let digits = phone(row)?;
            let (area, rest) = digits.split_at(3);
            let (middle, last) = rest.split_at(3);
            Some(match turn % 6 {
                0 => format!("({area}) {middle}-{last}"),
                1 => format!("+1 {area} {middle} {last}"),
                2 => format!("{area}.{middle}.{last} ext 4"),
                3 => format!("{middle}{last}"),
                4 => format!("tel {area}-{middle}-{last}"),
                _ => format!("001{digits}"),
            })
        },
        same: phone,
    },
    Kind {
        name: "address",
        say: |row, _| address(row),
        same: address,
    },
    Kind {
        name: "address, street misspelt",
        say: |row, turn| Some(misspelt(&address(row)?, turn)),
        same: address,
    },
    Kind {
        name: "name",
        say: |row, _| name(row),
        same: name,
    },
    Kind {
        name: "name misspelt",
        say: |row, turn| Some(misspelt(&name(row)?, turn)),
        same: name,
    },
    Kind {
        name: "street alone",
        say: |row, _| Some(address(row)?.split_once(' ')?.1.to_owned()),
        same: |row| Some(address(row)?.split_once(' ')?.1.to_owned()),
    },
    Kind {
        name: "what no row has",
        say: |_, turn| Some(format!("{} Quixzotic Byway{}", 90_000 + turn, "x".repeat(turn % 9))),
        same: |_| None,
    },
    Kind {
        name: "a letter or figure",
        say: |_, turn| char::from_digit((turn % 36) as u32, 36).map(String::from),
        same: |_| None,
    },
];

fn main() {
    let wish = Wish {
        assemblies: ASSEMBLIES,
        ..Wish::default()
    };
    let text = files(&wish)
        .into_iter()
        .find(|(name, _)| *name == "assemblies.csv")
        .unwrap()
        .1;
    let assemblies = read_assemblies(text.as_bytes(), "list", &BTreeMap::new()).0;
    let begun = Instant::now();
    let index = Index::new(&assemblies);
    println!(
        "{} assemblies listed in {:.0} ms",
        assemblies.len(),
        begun.elapsed().as_secs_f64() * 1e3
    );
    let mut all = Vec::new();
    for kind in KINDS {
        let (mut times, mut first, mut shown) = (Vec::new(), 0usize, 0usize);
        // A step that shares no factor with the length walks over the whole list.
        for (turn, row) in (0..assemblies.len())
            .map(|turn| &assemblies[turn * 7919 % assemblies.len()])
            .enumerate()
        {
            let Some(asked) = (kind.say)(row, turn) else { continue };
            let begun = Instant::now();
            let found = index.find(&asked, SHOWN);
            times.push(begun.elapsed());
            let wanted = (kind.same)(row);
            let mut fits = found
                .hits
                .iter()
                .map(|hit| wanted.is_some() && (kind.same)(&assemblies[hit.index]) == wanted);
            let leads = fits.next().unwrap_or(false);
            first += usize::from(leads);
            shown += usize::from(leads || fits.any(|fits| fits));
            if times.len() == TIMES {
                break;
            }
        }
        tell(kind.name, &mut times, Some([first, shown]));
        all.extend(times);
    }
    let late = tell("all", &mut all, None);
    std::process::exit(i32::from(late));
}

/// Prints a line; whether 95 % took too long.
fn tell(name: &str, times: &mut [Duration], found: Option<[usize; 2]>) -> bool {
    times.sort();
    let at = |share: f64| times[((times.len() - 1) as f64 * share) as usize];
    let ms = |share: f64| at(share).as_secs_f64() * 1e3;
    let percent = |n: usize| 100.0 * n as f64 / times.len() as f64;
    let found = found.map_or(String::new(), |[first, shown]| {
        format!("  first {:5.1} %  shown {:5.1} %", percent(first), percent(shown))
    });
    println!(
        "{name:32} {:4} times  median {:6.2}  95 % {:6.2}  99 % {:6.2}  longest {:6.2} ms{found}",
        times.len(),
        ms(0.5),
        ms(0.95),
        ms(0.99),
        ms(1.0)
    );
    at(0.95) >= MOST
}
