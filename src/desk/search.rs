//! Finds an assembly by what a caller says: address, account, name, phone, identifier or the serial number on the tag, as typed.
//!
//! Words are folded (case, accents, street words), looked up exactly, then by their beginning, then with the slips
//! of typing that an optimal-string-alignment distance of one or two covers. Telephone numbers are looked up from
//! their end, so that seven digits, ten, or eleven with the country code all find the same line; identifiers, accounts and serial
//! numbers from both ends, for people read out the last figures. Only word lists are
//! scanned, never all rows: a search of 100,000 assemblies stays in milliseconds.

use crate::inventory::{Assembly, is_serial};
use std::collections::{BTreeMap, HashMap};

/// What of an assembly fits what was typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Field {
    /// Its identifier.
    Identifier,
    /// The customer's account.
    Account,
    /// The maker's serial number on the tag.
    Serial,
    /// A telephone number.
    Phone,
    /// Words of the address or the name.
    Words,
}

impl Field {
    /// Its key in the words of the pages.
    pub fn word(self) -> &'static str {
        match self {
            Field::Identifier => "identifier",
            Field::Account => "account",
            Field::Serial => "serial",
            Field::Phone => "phone_number",
            Field::Words => "address_or_name",
        }
    }
}

/// How it fits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fit {
    /// All of it, as typed.
    Whole,
    /// It begins with what was typed, or for words each of them does.
    Begins,
    /// It ends with what was typed.
    Ends,
    /// With a slip of typing.
    Slip,
    /// Some of the words.
    Part,
}

impl Fit {
    /// Its key in the words of the pages.
    pub fn word(self) -> &'static str {
        match self {
            Fit::Whole => "fit_whole",
            Fit::Begins => "fit_begins",
            Fit::Ends => "fit_ends",
            Fit::Slip => "fit_slip",
            Fit::Part => "fit_part",
        }
    }
}

/// A found assembly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hit {
    /// Index into the list of assemblies.
    pub index: usize,
    /// Larger is better; only its order means anything.
    pub score: f64,
    /// What says most for it.
    pub why: (Field, Fit),
}

/// What speaks for a row: the sum, and the largest of its reasons.
#[derive(Debug, Clone, Copy)]
struct Worth {
    score: f64,
    most: f64,
    why: (Field, Fit),
}

type Worths = BTreeMap<u32, Worth>;

/// What a search found.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Found {
    /// Best first, cut to the limit.
    pub hits: Vec<Hit>,
    /// How many matched before the cut.
    pub total: usize,
}

/// The word lists of an inventory.
#[derive(Debug, Clone, Default)]
pub struct Index {
    /// Words in order, each with the rows that hold it, in order.
    words: Vec<(Box<str>, Vec<u32>)>,
    /// Letters of each word as a bit set, for a quick refusal before the distance is computed.
    letters: Vec<u32>,
    /// Identifiers, account and serial numbers without marks, in order.
    codes: Vec<(Box<str>, u32, Field)>,
    /// The same from their end.
    code_ends: Vec<(Box<str>, u32, Field)>,
    /// Telephone digits from their end, in order.
    tails: Vec<(Box<str>, u32)>,
    rows: usize,
}

/// Words in a row beyond which only rows found by rarer words are looked at.
const COMMON: usize = 4_000;
/// How well a listed word fits that begins with the one typed; with slips less.
const BEGINS: f64 = 0.7;
/// Longest text that is searched for, characters; more is cut.
const LONGEST: usize = 200;

/// Street words and their short forms, which callers and lists mix.
const STREET_WORDS: &[(&str, &str)] = &[
    ("street", "st"),
    ("avenue", "ave"),
    ("road", "rd"),
    ("drive", "dr"),
    ("lane", "ln"),
    ("court", "ct"),
    ("boulevard", "blvd"),
    ("place", "pl"),
    ("circle", "cir"),
    ("terrace", "ter"),
    ("parkway", "pkwy"),
    ("highway", "hwy"),
    ("square", "sq"),
    ("trail", "trl"),
    ("north", "n"),
    ("south", "s"),
    ("east", "e"),
    ("west", "w"),
    ("suite", "ste"),
    ("apartment", "apt"),
    ("calle", "st"),
    ("avenida", "ave"),
];

/// A letter without its accent, in lower case.
fn plain(c: char) -> char {
    match c {
        'á' | 'à' | 'ä' | 'â' | 'ã' | 'å' => 'a',
        'é' | 'è' | 'ë' | 'ê' => 'e',
        'í' | 'ì' | 'ï' | 'î' => 'i',
        'ó' | 'ò' | 'ö' | 'ô' | 'õ' | 'ø' => 'o',
        'ú' | 'ù' | 'ü' | 'û' => 'u',
        'ñ' => 'n',
        'ç' => 'c',
        other => other,
    }
}

/// Folded words of a text, in order.
pub fn words_of(text: &str) -> Vec<String> {
    let folded: String = text
        .chars()
        .take(LONGEST)
        .flat_map(char::to_lowercase)
        .map(plain)
        .filter(|c| !matches!(c, '\'' | '’' | '.'))
        .collect();
    folded
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(|word| {
            let short = STREET_WORDS.iter().find(|(long, _)| *long == word);
            short.map_or_else(|| word.to_string(), |(_, short)| (*short).to_string())
        })
        .collect()
}

fn code_of(text: &str) -> String {
    text.chars()
        .take(LONGEST)
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_lowercase)
        .map(plain)
        .collect()
}

/// A number without its extension: what stands before the first letter that follows a digit.
fn without_extension(text: &str) -> &str {
    let first_digit = text.find(|c: char| c.is_ascii_digit()).unwrap_or(0);
    let rest = text.get(first_digit..).unwrap_or("");
    let end = rest
        .find(|c: char| c.is_alphabetic() || c == '#')
        .map_or(text.len(), |at| first_digit + at);
    text.get(..end).unwrap_or(text)
}

/// Digits from the end, without a leading 1 of eleven and without an extension.
fn tail_of(text: &str) -> String {
    let mut digits: Vec<char> = without_extension(text).chars().filter(char::is_ascii_digit).collect();
    if digits.len() == 11 && digits.first() == Some(&'1') {
        digits.remove(0);
    }
    digits.iter().rev().collect()
}

fn letters_of(word: &str) -> u32 {
    word.bytes()
        .filter(u8::is_ascii_lowercase)
        .fold(0, |set, byte| set | 1 << (byte - b'a'))
}

impl Index {
    /// Builds the lists.
    pub fn new(assemblies: &[Assembly]) -> Self {
        let mut words: HashMap<String, Vec<u32>> = HashMap::new();
        let mut codes = Vec::new();
        let mut tails = Vec::new();
        for (at, assembly) in assemblies.iter().enumerate() {
            let Ok(row) = u32::try_from(at) else { break };
            let contact = &assembly.contact;
            let texts = [&contact.site_address, &contact.contact_name];
            for word in texts.into_iter().flatten().flat_map(|text| words_of(text)) {
                let rows = words.entry(word).or_default();
                if rows.last() != Some(&row) {
                    rows.push(row);
                }
            }
            codes.push((code_of(&assembly.assembly_id), row, Field::Identifier));
            codes.extend(
                contact
                    .account_id
                    .iter()
                    .map(|account| (code_of(account), row, Field::Account)),
            );
            let serials = assembly.extra.iter().filter(|(header, _)| is_serial(header));
            codes.extend(serials.map(|(_, serial)| (code_of(serial), row, Field::Serial)));
            if let Some(phone) = &contact.phone {
                let tail = tail_of(phone);
                if tail.len() >= 7 {
                    tails.push((tail.into_boxed_str(), row));
                }
            }
        }
        let mut words: Vec<(Box<str>, Vec<u32>)> = words
            .into_iter()
            .map(|(word, rows)| (word.into_boxed_str(), rows))
            .collect();
        words.sort();
        let in_order = |codes: &mut dyn Iterator<Item = (String, u32, Field)>| {
            let mut all: Vec<(Box<str>, u32, Field)> = codes
                .filter(|(code, ..)| !code.is_empty())
                .map(|(code, row, field)| (code.into(), row, field))
                .collect();
            all.sort_by(|a, b| (&a.0, a.1).cmp(&(&b.0, b.1)));
            all
        };
        let code_ends = in_order(
            &mut codes
                .iter()
                .map(|(code, row, field)| (code.chars().rev().collect(), *row, *field)),
        );
        // Nobody reads out the zeros before an account, and some read out one too few.
        let short: Vec<_> = codes
            .iter()
            .filter(|(code, _, field)| *field == Field::Account && code.starts_with('0'))
            .map(|(code, row, field)| (without_zeros(code).to_owned(), *row, *field))
            .collect();
        let codes = in_order(&mut codes.into_iter().chain(short));
        tails.sort();
        let letters = words.iter().map(|(word, _)| letters_of(word)).collect();
        Self {
            words,
            letters,
            codes,
            code_ends,
            tails,
            rows: assemblies.len(),
        }
    }

    /// Finds the rows that fit a text best, at most `limit` of them; equal scores in the order of the list.
    pub fn find(&self, text: &str, limit: usize) -> Found {
        let text: String = text.chars().take(LONGEST).collect();
        let mut scores = Worths::new();
        self.find_phone(&text, &mut scores);
        self.find_code(&text, &mut scores);
        self.find_words(&text, &mut scores);
        let mut hits: Vec<Hit> = scores
            .into_iter()
            .map(|(row, worth)| Hit {
                index: row as usize,
                score: worth.score,
                why: worth.why,
            })
            .collect();
        hits.sort_by(|a, b| b.score.total_cmp(&a.score).then(a.index.cmp(&b.index)));
        let total = hits.len();
        hits.truncate(limit);
        Found { hits, total }
    }

    fn find_phone(&self, text: &str, scores: &mut Worths) {
        let phone_marks = |c: char| c.is_ascii_digit() || c.is_whitespace() || "()-+./".contains(c);
        let tail = tail_of(text);
        let written = without_extension(text);
        // Letters are let through only after a whole number, as an extension: "12 Oak" is an address.
        let extension = written.len() < text.len() && tail.len() >= 10;
        if tail.len() < 4 || !written.chars().all(phone_marks) || (written.len() < text.len() && !extension) {
            return;
        }
        for row in beginning(&self.tails, &tail) {
            // A whole number outranks everything; four last digits are a hint.
            let score = if tail.len() >= 10 {
                60.0
            } else {
                4.0 * tail.len() as f64 - 6.0
            };
            let fit = if tail.len() >= 10 { Fit::Whole } else { Fit::Ends };
            raise(scores, row, score, (Field::Phone, fit));
        }
        if tail.len() >= 7 && beginning(&self.tails, &tail).next().is_none() {
            for slip in slips(&tail, "0123456789") {
                for row in beginning(&self.tails, &slip) {
                    raise(scores, row, 12.0, (Field::Phone, Fit::Slip));
                }
            }
        }
    }

    fn find_code(&self, text: &str, scores: &mut Worths) {
        let code = code_of(text);
        if code.len() < 2 {
            return;
        }
        let mut any = false;
        // With zeros too many before an account, too.
        let short = without_zeros(&code);
        let accounts = coded(&self.codes, short).filter(|(each, _, field)| *field == Field::Account && *each == short);
        for (each, row, field) in coded(&self.codes, &code).chain(accounts.filter(|_| short != code)) {
            any = true;
            let whole = each == code || each == short;
            let (score, fit) = if whole {
                (80.0, Fit::Whole)
            } else {
                (8.0 + code.len() as f64, Fit::Begins)
            };
            raise(scores, row, score, (field, fit));
        }
        // Three figures of the end are a hint among many, five are nearly the whole.
        if code.len() >= 3 {
            let end: String = code.chars().rev().collect();
            for (_, row, field) in coded(&self.code_ends, &end).filter(|(each, ..)| each.len() > end.len()) {
                any |= code.len() >= 5;
                raise(scores, row, 2.5 * code.len() as f64, (field, Fit::Ends));
            }
        }
        // One slip in a code of some length: looked for only when nothing fits as typed.
        if !any && (5..=24).contains(&code.len()) {
            for slip in slips(&code, "0123456789abcdefghijklmnopqrstuvwxyz") {
                for (_, row, field) in coded(&self.codes, &slip).take_while(|(each, ..)| *each == slip) {
                    raise(scores, row, 30.0, (field, Fit::Slip));
                }
            }
        }
    }

    fn find_words(&self, text: &str, scores: &mut Worths) {
        let words = words_of(text);
        if words.is_empty() {
            return;
        }
        // For each word typed: the listed words that fit, with how well.
        let mut fits: Vec<(usize, Vec<(usize, f64)>)> = words
            .iter()
            .take(12)
            .map(|word| {
                let fits = self.fits(word);
                (
                    fits.iter()
                        .map(|(at, _)| self.words.get(*at).map_or(0, |(_, rows)| rows.len()))
                        .sum(),
                    fits,
                )
            })
            .collect();
        let asked = fits.len();
        // Rare words first: they say most, and common ones then only have to be looked up in what was found.
        fits.sort_by_key(|(rows, _)| *rows);
        // Words that a row has, what they come to, and the worst of how they fit.
        let mut own: HashMap<u32, (usize, f64, f64)> = HashMap::new();
        for (count, listed) in fits {
            let mut best: HashMap<u32, (f64, f64)> = HashMap::new();
            let narrow = count > COMMON && !own.is_empty();
            for (at, fit) in listed {
                let Some((_, rows)) = self.words.get(at) else { continue };
                let rarity = 1.0 + (self.rows.max(1) as f64 / rows.len().max(1) as f64).ln();
                let score = fit * rarity;
                if narrow {
                    for row in own.keys().filter(|row| rows.binary_search(row).is_ok()) {
                        keep_best(&mut best, *row, (score, fit));
                    }
                } else {
                    for row in rows.iter().take(4 * COMMON) {
                        keep_best(&mut best, *row, (score, fit));
                    }
                }
            }
            for (row, (score, fit)) in best {
                let entry = own.entry(row).or_insert((0, 0.0, 1.0));
                entry.0 += 1;
                entry.1 += score;
                entry.2 = entry.2.min(fit);
            }
        }
        // With several words typed, a row that misses more than one is noise.
        let least = if asked <= 2 {
            asked.min(1).max(asked / 2)
        } else {
            asked - 1
        };
        let most = own.values().map(|(matched, ..)| *matched).max().unwrap_or(0);
        for (row, (matched, score, worst)) in own {
            if matched >= least.max(most.saturating_sub(1)) {
                let fit = if matched < asked {
                    Fit::Part
                } else if worst < BEGINS {
                    Fit::Slip
                } else if worst < 1.0 {
                    Fit::Begins
                } else {
                    Fit::Whole
                };
                raise(scores, row, score * matched as f64 / asked as f64, (Field::Words, fit));
            }
        }
    }

    /// Listed words that fit one typed word, with how well: 1 exactly, less by beginning or with slips.
    fn fits(&self, word: &str) -> Vec<(usize, f64)> {
        let mut fits = Vec::new();
        let at = self.words.partition_point(|(each, _)| each.as_ref() < word);
        let mut exact = false;
        for (offset, (each, _)) in self.words.iter().skip(at).take(200).enumerate() {
            if !each.starts_with(word) {
                break;
            }
            if each.as_ref() == word {
                exact = true;
                fits.push((at + offset, 1.0));
            } else if word.chars().count() >= 2 {
                fits.push((at + offset, BEGINS));
            }
        }
        let length = word.chars().count();
        let number = word.bytes().all(|byte| byte.is_ascii_digit());
        if exact || length < 4 && !number || number && length < 3 {
            return fits;
        }
        let slack = if length >= 8 && !number { 2 } else { 1 };
        let letters = letters_of(word);
        for (at, ((each, _), set)) in self.words.iter().zip(&self.letters).enumerate() {
            let digits = each.bytes().all(|byte| byte.is_ascii_digit());
            let far = (letters ^ set).count_ones() > 2 * slack || each.len().abs_diff(word.len()) > slack as usize;
            if far || digits != number || fits.iter().any(|(known, _)| *known == at) {
                continue;
            }
            let distance = strsim::osa_distance(each, word);
            if distance <= slack as usize {
                fits.push((at, if distance <= 1 { 0.5 } else { 0.35 }));
            }
        }
        fits
    }
}

fn raise(scores: &mut Worths, row: u32, score: f64, why: (Field, Fit)) {
    let worth = scores.entry(row).or_insert(Worth {
        score: 0.0,
        most: 0.0,
        why,
    });
    worth.score += score;
    if score > worth.most {
        (worth.most, worth.why) = (score, why);
    }
}

/// Keeps the larger score, with how the word fits.
fn keep_best(best: &mut HashMap<u32, (f64, f64)>, row: u32, with: (f64, f64)) {
    let entry = best.entry(row).or_insert(with);
    if with.0 > entry.0 {
        *entry = with;
    }
}

/// A number without the zeros before it; a number of nothing but zeros keeps one.
fn without_zeros(code: &str) -> &str {
    let short = code.trim_start_matches('0');
    if short.is_empty() {
        code.get(..1).unwrap_or("")
    } else {
        short
    }
}

/// Codes that begin with `start`, at most [`COMMON`].
fn coded<'a>(list: &'a [(Box<str>, u32, Field)], start: &'a str) -> impl Iterator<Item = (&'a str, u32, Field)> {
    let at = list.partition_point(|(each, ..)| each.as_ref() < start);
    list.iter()
        .skip(at)
        .take_while(move |(each, ..)| each.starts_with(start))
        .take(COMMON)
        .map(|(each, row, field)| (each.as_ref(), *row, *field))
}

/// Rows whose text begins with `start`, at most [`COMMON`].
fn beginning<'a>(list: &'a [(Box<str>, u32)], start: &'a str) -> impl Iterator<Item = u32> + 'a {
    let at = list.partition_point(|(each, _)| each.as_ref() < start);
    list.iter()
        .skip(at)
        .take_while(move |(each, _)| each.starts_with(start))
        .take(COMMON)
        .map(|(_, row)| *row)
}

/// Texts that one slip makes of this one: two neighbours swapped, or one mark replaced.
fn slips(text: &str, marks: &str) -> Vec<String> {
    let chars: Vec<char> = text.chars().collect();
    let mut all = Vec::new();
    for at in 0..chars.len() {
        if at + 1 < chars.len() && chars[at] != chars[at + 1] {
            let mut swapped = chars.clone();
            swapped.swap(at, at + 1);
            all.push(swapped.into_iter().collect());
        }
        for mark in marks.chars().filter(|mark| *mark != chars[at]) {
            let mut replaced = chars.clone();
            replaced[at] = mark;
            all.push(replaced.into_iter().collect());
        }
    }
    all
}
