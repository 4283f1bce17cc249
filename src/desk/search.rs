//! Finds an assembly by what a caller says: address, account, name, phone, identifier or the serial number on the tag, as typed.
//!
//! Words are folded (case, accents, street words), looked up exactly, then by their beginning, then with the slips
//! of typing that an optimal-string-alignment distance of one or two covers. Telephone numbers are looked up from
//! their end, so that seven digits, ten, or eleven with the country code all find the same line; identifiers, accounts and serial
//! numbers from both ends, for people read out the last figures. Only word lists are
//! scanned, never all rows: a search of 100,000 assemblies stays in milliseconds.

mod fold;

use crate::inventory::{Assembly, is_serial};
use crate::text::Text;
pub use fold::words_of;
use fold::{
    LONGEST, WHOLE, WHOLE_LOCAL, alike, code_of, numbers_of, pairs_of, tail_of, without_extension, without_zeros,
};
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
    /// Its figures, without its letters.
    Figures,
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
            Fit::Figures => "fit_figures",
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
    /// Identifiers and serial numbers with the signs that look alike on a tag made one.
    alike: Vec<(Box<str>, u32, Field)>,
    /// Figures of serial numbers that have letters, too.
    figures: Vec<(Box<str>, u32)>,
    /// Telephone digits from their end, in order.
    tails: Vec<(Box<str>, u32)>,
    rows: usize,
}

/// Words in a row beyond which only rows found by rarer words are looked at.
const COMMON: usize = 4_000;
/// Least signs of a number read from a tag by its figures alone, or with signs that look alike (judgement: fewer fit too many).
const LEAST_FIGURES: usize = 4;
/// What people say before a number; it is no part of it.
const LABELS: &[&str] = &[
    "account", "acct", "assembly", "call", "cuenta", "device", "id", "no", "num", "number", "numero", "phone",
    "serial", "serie", "sn", "tag", "tel", "telefono",
];
/// How well a listed word fits that begins with the one typed; with slips less.
const BEGINS: f64 = 0.7;
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
        let (mut tails, mut figures) = (Vec::new(), Vec::new());
        for (at, assembly) in assemblies.iter().enumerate() {
            let Ok(row) = u32::try_from(at) else { break };
            let contact = &assembly.contact;
            let words_in = |text: &Option<Text>| text.as_deref().map(words_of).unwrap_or_default();
            let address = words_in(&contact.site_address);
            let pairs: Vec<String> = pairs_of(&address).collect();
            for word in address.into_iter().chain(pairs).chain(words_in(&contact.contact_name)) {
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
            for (_, serial) in assembly.extra.iter().filter(|(header, _)| is_serial(header)) {
                let code = code_of(serial);
                let digits: String = code.chars().filter(char::is_ascii_digit).collect();
                if (LEAST_FIGURES..code.len()).contains(&digits.len()) {
                    figures.push((digits.into_boxed_str(), row));
                }
                codes.push((code, row, Field::Serial));
            }
            if let Some(phone) = &contact.phone {
                tails.extend(numbers_of(phone).into_iter().map(|tail| (tail.into_boxed_str(), row)));
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
        let look_alike = codes.iter().filter(|(_, _, field)| *field != Field::Account);
        let alike = in_order(&mut look_alike.map(|(code, row, field)| (alike(code), *row, *field)));
        // Nobody reads out the zeros before an account, and some read out one too few.
        let short: Vec<_> = codes
            .iter()
            .filter(|(code, _, field)| *field == Field::Account && code.starts_with('0'))
            .map(|(code, row, field)| (without_zeros(code).to_owned(), *row, *field))
            .collect();
        let codes = in_order(&mut codes.into_iter().chain(short));
        tails.sort();
        figures.sort();
        let letters = words.iter().map(|(word, _)| letters_of(word)).collect();
        Self {
            words,
            letters,
            codes,
            code_ends,
            alike,
            figures,
            tails,
            rows: assemblies.len(),
        }
    }

    /// Finds the rows that fit a text best, at most `limit` of them; equal scores in the order of the list.
    pub fn find(&self, text: &str, limit: usize) -> Found {
        let text: String = text.chars().take(LONGEST).collect();
        let text = without_label(&text);
        let mut scores = Worths::new();
        self.find_phone(text, &mut scores);
        self.find_code(text, &mut scores);
        self.find_words(text, &mut scores);
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
        let tail = tail_of(text);
        let written = without_extension(text);
        // Letters are let through only after a whole number, as an extension: "12 Oak" is an address.
        let extension = written.len() < text.len();
        if tail.len() < 4 || written.chars().any(char::is_alphabetic) || (extension && tail.len() < WHOLE) {
            return;
        }
        let whole = tail.len() >= WHOLE;
        // Digits are one byte each. With a country code before it a number is looked up without, and where the list has no area code, too.
        let shorter = [WHOLE, WHOLE_LOCAL].map(|most| tail.get(..most).unwrap_or(&tail));
        let local = |start: &&str| self.tails.iter().any(|(each, _)| each.as_ref() == *start);
        let asked = match shorter {
            _ if beginning(&self.tails, &tail).next().is_some() => tail.as_str(),
            [national, _] if beginning(&self.tails, national).next().is_some() => national,
            [_, short] if local(&short) => short,
            [national, _] => national,
        };
        for row in beginning(&self.tails, asked) {
            // A whole number outranks everything; four last digits are a hint.
            let (score, fit) = if whole {
                (60.0, Fit::Whole)
            } else {
                (4.0 * tail.len() as f64 - 6.0, Fit::Ends)
            };
            raise(scores, row, score, (Field::Phone, fit));
        }
        if tail.len() >= WHOLE_LOCAL && beginning(&self.tails, asked).next().is_none() {
            for slip in slips(asked, "0123456789") {
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
        if code.len() >= LEAST_FIGURES && code.bytes().all(|byte| byte.is_ascii_digit()) {
            for row in beginning(&self.figures, &code) {
                any = true;
                raise(scores, row, 6.0 + code.len() as f64, (Field::Serial, Fit::Figures));
            }
        }
        // What looks alike on a tag, and one slip in a code of some length: looked for only when nothing fits as typed.
        if !any && code.len() >= LEAST_FIGURES {
            let look = alike(&code);
            for (_, row, field) in coded(&self.alike, &look).take_while(|(each, ..)| *each == look) {
                any = true;
                raise(scores, row, 30.0, (field, Fit::Slip));
            }
        }
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
        // For each word typed: the listed words that fit, with how well; two that are one word in the list fit it both.
        let words: Vec<String> = words.into_iter().take(12).collect();
        let mut listed: Vec<Vec<(usize, f64)>> = words.iter().map(|word| self.fits(word)).collect();
        for (at, pair) in words.windows(2).enumerate() {
            let joined = pairs_of(pair).next().map_or_else(Vec::new, |joined| self.fits(&joined));
            for fits in listed.iter_mut().skip(at).take(2) {
                let better = |one: &(usize, f64)| !fits.iter().any(|(known, fit)| *known == one.0 && *fit >= one.1);
                let new: Vec<(usize, f64)> = joined.iter().copied().filter(better).collect();
                fits.extend(new);
            }
        }
        let rows_of = |fits: &[(usize, f64)]| -> usize {
            let rows = fits.iter().filter_map(|(at, _)| self.words.get(*at));
            rows.map(|(_, rows)| rows.len()).sum()
        };
        let mut fits: Vec<(usize, Vec<(usize, f64)>)> = listed.into_iter().map(|fits| (rows_of(&fits), fits)).collect();
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
        // Four of five slips in words are one letter too many, too few, another or in its neighbour's place [Damerau 1964, from memory]; in a
        // longer word two are looked for, in one of middling length only where nothing is nearer.
        let slack = if length >= 6 && !number { 2 } else { 1 };
        let letters = letters_of(word);
        let (mut near, mut farther) = (Vec::new(), Vec::new());
        for (at, ((each, _), set)) in self.words.iter().zip(&self.letters).enumerate() {
            let far = (letters ^ set).count_ones() > 2 * slack || each.len().abs_diff(word.len()) > slack as usize;
            if far || fits.iter().any(|(known, _)| *known == at) {
                continue;
            }
            let digits = each.bytes().all(|byte| byte.is_ascii_digit());
            if digits != number {
                continue;
            }
            match strsim::osa_distance(each, word) {
                0 | 1 => near.push((at, 0.5)),
                2 if slack == 2 => farther.push((at, 0.35)),
                _ => {}
            }
        }
        let alone = fits.is_empty() && near.is_empty();
        fits.append(&mut near);
        if length >= 8 || alone {
            fits.append(&mut farther);
        }
        fits
    }
}

/// What was typed without the words that say what number follows; a text of nothing else stays.
fn without_label(text: &str) -> &str {
    let mut rest = text.trim_start();
    while let Some((word, after)) = rest.split_once([' ', ':', '.']) {
        let label = words_of(word);
        let said = matches!(&label[..], [one] if LABELS.contains(&one.as_str()));
        let after = after.trim_start_matches([' ', ':', '.', '#']);
        if !said || !after.contains(|c: char| c.is_ascii_digit()) {
            break;
        }
        rest = after;
    }
    rest
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
