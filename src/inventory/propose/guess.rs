//! Which of their columns is which of ours, and which of their words.

use super::Sure;
use super::hints;
use crate::inventory::columns::{Column, Names};
use crate::inventory::parse;
use crate::inventory::synonyms::{self, is_worded};
use std::collections::{BTreeMap, BTreeSet};

/// Below this nothing is proposed (judgement).
const LEAST: f64 = 0.35;
/// From here on the proposal is called likely (judgement).
const LIKELY: f64 = 0.6;

/// So many distinct words are a column of words (judgement).
const FEW_WORDS: usize = 20;

/// Whether a filled cell is what a column holds. For free text: what such text looks like.
pub(super) fn fits(column: Column, cell: &str) -> bool {
    let digits = cell.chars().filter(char::is_ascii_digit).count();
    let letters = cell.chars().filter(|c| c.is_alphabetic()).count();
    match column {
        Column::Phone => (7..=40).contains(&digits) && letters <= 30,
        Column::Email => cell.contains('@') && cell.contains('.'),
        Column::SiteAddress => letters >= 3 && (digits > 0 || cell.contains(' ')),
        Column::ContactName => letters >= 2 && digits <= 2,
        Column::AssemblyId | Column::AccountId => digits + letters > 0 && cell.len() <= 40,
        Column::Latitude => angle(cell).is_some_and(|value| value.abs() <= 90.0) && cell.contains(['.', '°', ',']),
        Column::Longitude => angle(cell).is_some_and(|value| value.abs() <= 180.0) && cell.contains(['.', '°', ',']),
        _ => !parse::is_blank(cell) && synonyms::read(column, cell).is_some_and(|word| !word.is_empty()),
    }
}

fn angle(cell: &str) -> Option<f64> {
    parse::degrees(cell, true).ok().flatten()
}

/// Columns whose contents are like nothing else: proposed whatever the header says.
fn speaks_by_itself(column: Column, cells: &[&str]) -> bool {
    match column {
        Column::DeviceType | Column::Email | Column::Phone => true,
        Column::NominalSize => cells
            .iter()
            .any(|cell| cell.contains(['/', '½', '¼', '¾', '"']) || cell.contains("mm")),
        Column::LastTest => cells.iter().any(|cell| cell.contains(['-', '/', '.'])),
        Column::Placement => true,
        _ => false,
    }
}

/// For each column that was found: index of theirs, and how sure.
pub(super) fn columns(header: &[String], rows: &[Vec<String>], names: &Names) -> BTreeMap<Column, (usize, Sure)> {
    let mut bids: Vec<(f64, Column, usize, Sure)> = Vec::new();
    for (at, cell) in header.iter().enumerate() {
        let cells: Vec<&str> = rows
            .iter()
            .filter_map(|row| row.get(at))
            .map(String::as_str)
            .filter(|cell| !parse::is_blank(cell))
            .collect();
        if let Some(column) = names.column(cell) {
            // The interface's own name comes before another name for the same thing, and contents decide between two of these.
            let own = if crate::inventory::columns::normal(cell) == column.name() {
                0.5
            } else {
                0.0
            };
            bids.push((2.0 + own + 0.4 * share(column, &cells), column, at, Sure::Known));
        }
        for column in Column::ALL {
            let bid = bid(*column, cell, &cells, rows.len());
            if bid >= LEAST {
                let sure = if bid >= LIKELY { Sure::Likely } else { Sure::Guess };
                bids.push((bid, *column, at, sure));
            }
        }
    }
    bids.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2)));
    let mut out = BTreeMap::new();
    let mut taken = BTreeSet::new();
    for (_, column, at, sure) in bids {
        if !out.contains_key(&column) && !taken.contains(&at) {
            out.insert(column, (at, sure));
            taken.insert(at);
        }
    }
    out
}

/// Share of the filled cells that are what a column holds, with what can be guessed counted in; 0.5 where nothing is filled.
fn share(column: Column, cells: &[&str]) -> f64 {
    if cells.is_empty() {
        return 0.5;
    }
    let good = cells
        .iter()
        .filter(|cell| fits(column, cell) || (is_worded(column) && word(column, cell).is_some()))
        .count();
    good as f64 / cells.len() as f64
}

/// How much speaks for a column, 0 to 1.
fn bid(column: Column, header: &str, cells: &[&str], rows: usize) -> f64 {
    let name = hints::score(column, header);
    let share = share(column, cells);
    // Weights are judgement: a name is worth little when half of the cells cannot be that, and contents alone are a guess.
    if name > 0.0 {
        let distinct: BTreeSet<&str> = cells.iter().copied().collect();
        let floor = match column {
            // A refusal that stays unread leads to contacts that were refused: the name is enough.
            Column::Channels => 0.8,
            Column::DeviceType | Column::NominalSize => 0.2,
            // Few words that are not ours may still be words for what we ask.
            _ if is_worded(column) && distinct.len() <= FEW_WORDS => 0.5,
            _ => 0.2,
        };
        let mut bid = name * (floor + (1.0 - floor) * share * share);
        if column == Column::AssemblyId {
            let unique = distinct.len() as f64 / rows.max(1) as f64;
            bid *= unique * unique;
        }
        return bid;
    }
    if header.is_empty() && cells.is_empty() {
        return 0.0;
    }
    let alone = cells.len() >= 3 && share >= 0.8 && speaks_by_itself(column, cells);
    if alone { 0.45 * share } else { 0.0 }
}

/// Words inside cells that point to one of ours, beside those that the readers know by themselves (judgement, the trade's words).
fn pointers(column: Column) -> &'static [(&'static str, &'static str)] {
    match column {
        Column::Placement => &[
            ("vault", "vault"),
            ("pit", "vault"),
            ("manhole", "vault"),
            ("bóveda", "vault"),
            ("box", "insulated_enclosure"),
            ("enclosure", "insulated_enclosure"),
            ("encl", "insulated_enclosure"),
            ("insulated", "insulated_enclosure"),
            ("caja", "insulated_enclosure"),
            ("calefactada", "heated_enclosure"),
            ("calefacción", "heated_enclosure"),
            ("calefactor", "heated_enclosure"),
            ("calentada", "heated_enclosure"),
            ("heated", "heated_enclosure"),
            ("heater", "heated_enclosure"),
            ("htd", "heated_enclosure"),
            ("heat", "heated_enclosure"),
            ("cover", "cover"),
            ("shell", "cover"),
            ("rock", "cover"),
            ("mech", "indoors"),
            ("mechanical", "indoors"),
            ("boiler", "indoors"),
            ("room", "indoors"),
            ("rm", "indoors"),
            ("inside", "indoors"),
            ("indoor", "indoors"),
            ("indoors", "indoors"),
            ("int", "indoors"),
            ("basement", "indoors"),
            ("bsmt", "indoors"),
            ("closet", "indoors"),
            ("garage", "indoors"),
            ("interior", "indoors"),
            ("outside", "open"),
            ("outdoor", "open"),
            ("outdoors", "open"),
            ("exposed", "open"),
            ("ext", "open"),
            ("exterior", "open"),
            ("open", "open"),
            ("yard", "open"),
            ("lawn", "open"),
            ("bare", "open"),
            ("intemperie", "open"),
        ],
        Column::Service => &[
            ("fire", "fire"),
            ("irrigation", "irrigation"),
            ("irrig", "irrigation"),
            ("irr", "irrigation"),
            ("lawn", "irrigation"),
            ("landscape", "irrigation"),
            ("garden", "irrigation"),
            ("turf", "irrigation"),
            ("riego", "irrigation"),
            ("domestic", "domestic"),
            ("potable", "domestic"),
            ("dom", "domestic"),
            ("house", "domestic"),
            ("doméstico", "domestic"),
            ("process", "process"),
            ("boiler", "process"),
            ("chiller", "process"),
            ("cooling", "process"),
            ("incendio", "fire"),
        ],
        Column::CustomerClass => &[
            ("residential", "residential"),
            ("resid", "residential"),
            ("res", "residential"),
            ("home", "residential"),
            ("apartment", "residential"),
            ("apartments", "residential"),
            ("family", "residential"),
            ("commercial", "commercial"),
            ("comm", "commercial"),
            ("business", "commercial"),
            ("retail", "commercial"),
            ("office", "commercial"),
            ("industrial", "commercial"),
            ("restaurant", "commercial"),
            ("public", "public"),
            ("school", "public"),
            ("city", "public"),
            ("county", "public"),
            ("gov", "public"),
            ("municipal", "public"),
            ("residencial", "residential"),
            ("comercial", "commercial"),
        ],
        Column::WinterUse => &[
            ("drained", "drained"),
            ("winterized", "drained"),
            ("blown", "drained"),
            ("vacant", "vacant"),
            ("unoccupied", "vacant"),
            ("empty", "vacant"),
            ("idle", "idle"),
            ("seasonal", "idle"),
            ("active", "in_use"),
            ("year", "in_use"),
        ],
        Column::RiserMaterial => &[
            ("copper", "copper"),
            ("cu", "copper"),
            ("steel", "steel"),
            ("galv", "steel"),
            ("ductile", "ductile_iron"),
            ("dip", "ductile_iron"),
            ("pvc", "pvc"),
            ("plastic", "pvc"),
            ("brass", "brass"),
            ("bronze", "brass"),
        ],
        Column::Language => &[
            ("span", "es"),
            ("spanish", "es"),
            ("esp", "es"),
            ("english", "en"),
            ("engl", "en"),
        ],
        _ => &[],
    }
}

/// A box, and one with a heater in it.
const BOX: &str = "insulated_enclosure";
const HEATED_BOX: &str = "heated_enclosure";

/// Words that turn a cell around or leave it open: such a cell is asked for.
const TURNS: &[&str] = &[
    "no", "not", "non", "never", "un", "without", "or", "sin", "maybe", "removed", "former", "old", "dual", "off",
    "dead", "broken", "inop", "trace", "tape", "cable",
];

/// Our word for a cell that is not read as it stands, where everything in it that points anywhere points to the same. What
/// somebody allows is never guessed.
pub(super) fn word(column: Column, cell: &str) -> Option<String> {
    if column == Column::Channels || cell.len() > 80 {
        return None;
    }
    if column == Column::NominalSize {
        return size(cell);
    }
    let lower = cell.to_lowercase();
    let words: Vec<&str> = lower
        .split(|c: char| !c.is_alphanumeric() && c != '.')
        // A point ends a word cut short; one inside it is part of a number.
        .map(|word| word.trim_matches('.'))
        .filter(|word| !word.is_empty())
        .collect();
    // "w/o" falls apart into letters.
    if words.iter().any(|word| TURNS.contains(word)) || lower.contains("w/o") {
        return None;
    }
    let words: Vec<&str> = if column == Column::DeviceType {
        words.into_iter().map(spelled).collect()
    } else {
        words
    };
    // The longest run of words that the reader knows; among runs of one length all must agree.
    for length in (1..=words.len().min(4)).rev() {
        let known: BTreeSet<String> = words
            .windows(length)
            .map(|run| run.join(" "))
            .filter(|run| run.chars().count() >= 2)
            .filter_map(|run| synonyms::read(column, &run))
            .filter(|ours| !ours.is_empty())
            .collect();
        match (known.len(), known.into_iter().next()) {
            (0, _) => {}
            // A box that is called by its name may have a heater in it all the same.
            (1, Some(ours)) if ours == BOX && pointed(column, &words).any(|other| other == HEATED_BOX) => {
                return Some(HEATED_BOX.to_owned());
            }
            (1, Some(ours)) if length > 1 || agrees(column, &words, &ours) => {
                return with_detector(column, &words, ours);
            }
            _ => return None,
        }
    }
    let pointed: BTreeSet<&str> = pointed(column, &words).collect();
    match pointed.len() {
        1 => pointed.first().map(|ours| (*ours).to_owned()),
        // A heater in a box is a heated box.
        2 if pointed.contains(HEATED_BOX) && pointed.contains(BOX) => Some(HEATED_BOX.to_owned()),
        _ => None,
    }
}

/// The detector's assembly where the cell speaks of a detector: its bypass freezes first, and a plain assembly has none. What is not
/// made as a detector assembly is asked for.
fn with_detector(column: Column, words: &[&str], ours: String) -> Option<String> {
    if column != Column::DeviceType || !words.contains(&"detector") {
        return Some(ours);
    }
    match ours.as_str() {
        "DC" => Some("DCDA".into()),
        "RP" => Some("RPDA".into()),
        "DCDA" | "RPDA" => Some(ours),
        _ => None,
    }
}

/// A word of a device's name that lists cut short, written out (judgement, the trade's words).
fn spelled(word: &str) -> &str {
    match word.trim_end_matches('.') {
        "vac" => "vacuum",
        "brkr" | "bkr" | "break" => "breaker",
        "press" | "pres" => "pressure",
        "red" => "reduced",
        "dbl" | "doub" => "double",
        "chk" | "ck" => "check",
        "det" | "detect" => "detector",
        "resist" | "resis" | "res" => "resistant",
        "atmos" | "atm" => "atmospheric",
        "prin" | "princ" => "principle",
        word => word,
    }
}

fn pointed<'w>(column: Column, words: &'w [&str]) -> impl Iterator<Item = &'static str> + 'w {
    pointers(column)
        .iter()
        .filter(|(word, _)| words.contains(word))
        .map(|(_, ours)| *ours)
}

/// Whether nothing in a cell points elsewhere.
fn agrees(column: Column, words: &[&str], ours: &str) -> bool {
    pointed(column, words).all(|other| other == ours)
}

/// A size among other words: `3/4" RP`, `size 2`.
fn size(cell: &str) -> Option<String> {
    let words: Vec<&str> = cell.split_whitespace().collect();
    let read = |text: &str| {
        parse::nominal_size(text)
            .ok()
            .flatten()
            .map(|read| read.size.to_string())
    };
    let digits = |word: &&str| word.starts_with(|c: char| c.is_ascii_digit());
    let pairs: BTreeSet<String> = words
        .windows(2)
        .filter(|pair| pair.iter().all(digits))
        .filter_map(|pair| read(&pair.join(" ")))
        .collect();
    if let (1, Some(size)) = (pairs.len(), pairs.first()) {
        return Some(size.clone());
    }
    let single: BTreeSet<String> = words
        .iter()
        .filter(|word| digits(word))
        .filter_map(|word| read(word))
        .collect();
    if single.len() == 1 {
        single.first().cloned()
    } else {
        None
    }
}
