//! Which listings are one person: union-find, with what each cluster holds so far.
//!
//! A list may have a million rows, most of them the only one of their person. So the rows' keys stand in columns, and only clusters of
//! several rows hold more than that.

use super::listing::Listing;
use crate::text::{Part, Text};
use std::borrow::Cow;
use std::collections::HashMap;
use std::collections::hash_map::Entry;

/// Letters and digits only, in lower case: two ways to write one account or address.
pub(super) fn fold_key(text: &str) -> String {
    text.chars()
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_lowercase)
        .collect()
}

/// The words of a name that tell people apart.
fn name_words(name: &str) -> Vec<String> {
    name.to_lowercase()
        .split(|c: char| !c.is_alphanumeric() && c != '\'')
        .filter(|word| !word.is_empty())
        .filter(|word| {
            !matches!(
                *word,
                "mr" | "mrs" | "ms" | "dr" | "sr" | "sra" | "jr" | "the" | "and" | "of"
            )
        })
        .map(str::to_owned)
        .collect()
}

/// Whether two names can be one person: one holds all words of the other, or the last words are the same and the first
/// ones begin alike ("M. Soto" and "Marta Soto").
fn names_agree(a: &[String], b: &[String]) -> bool {
    if a.is_empty() || b.is_empty() {
        return true;
    }
    let within = |a: &[String], b: &[String]| a.iter().all(|word| b.contains(word));
    if within(a, b) || within(b, a) {
        return true;
    }
    match (a.first(), a.last(), b.first(), b.last()) {
        (Some(first_a), Some(last_a), Some(first_b), Some(last_b)) if a.len() > 1 && b.len() > 1 => {
            last_a == last_b && (first_a.starts_with(first_b.as_str()) || first_b.starts_with(first_a.as_str()))
        }
        _ => false,
    }
}

/// Above this many distinct names a cluster is a switchboard, and no account or address joins it to another.
const MOST_NAMES: usize = 4;
/// Clusters that contradict each other and are still told apart by one key: beyond a handful it is a switchboard's and joins nobody.
const MOST_OF_ONE_KEY: usize = 8;

/// What rows may have in common, column by column; row `n` is the `n`-th that was added.
#[derive(Default)]
pub(super) struct Keys<'a> {
    names: Vec<Option<&'a str>>,
    addresses: Vec<Option<&'a str>>,
    accounts: Vec<Option<&'a str>>,
    emails: Vec<Option<Text>>,
    /// Of all rows, one after the other: equal lines have equal numbers.
    phones: Vec<u32>,
    /// `[rows]`: where the telephones of each row end in `phones`.
    phones_end: Vec<usize>,
    numbers: HashMap<String, u32>,
}

impl<'a> Keys<'a> {
    /// Adds the next row.
    pub fn add(&mut self, listing: &Listing<'a>) {
        self.names.push(listing.name.map(Part::as_str));
        self.addresses.push(listing.address.map(Part::as_str));
        self.accounts.push(listing.account.map(Part::as_str));
        self.emails.push(listing.email.clone());
        for phone in &listing.phones {
            let next = number(self.numbers.len());
            self.phones.push(*self.numbers.entry(phone.key()).or_insert(next));
        }
        self.phones_end.push(self.phones.len());
    }

    fn phones(&self, row: usize) -> &[u32] {
        let from = row.checked_sub(1).map_or(0, |before| self.phones_end[before]);
        &self.phones[from..self.phones_end[row]]
    }
}

/// A place in a list as it is kept here: half the size, and a list of four thousand million rows is read by nobody.
fn number(at: usize) -> u32 {
    u32::try_from(at).unwrap_or(u32::MAX)
}

/// What a cluster holds so far.
#[derive(Clone, Default)]
struct Held<'a> {
    names: Vec<&'a str>,
    phones: Vec<u32>,
    /// Folded.
    addresses: Vec<String>,
}

/// Union-find over the rows.
pub(super) struct Clusters<'a> {
    keys: &'a Keys<'a>,
    parent: Vec<u32>,
    size: Vec<u32>,
    /// Of the roots of several rows.
    held: HashMap<usize, Held<'a>>,
    many_addresses: usize,
}

impl<'a> Clusters<'a> {
    /// The clusters of rows that share a telephone line, an account or an e-mail address. Gives the rows of each in order, in the order of
    /// their first rows.
    pub fn of(mut keys: Keys<'_>, many_addresses: usize) -> Vec<Vec<u32>> {
        let lines = std::mem::take(&mut keys.numbers).len();
        let mut clusters = Clusters::new(&keys, many_addresses);
        // One line rings once, whoever is named beside it.
        let mut first_of: Vec<Option<usize>> = vec![None; lines];
        for row in 0..keys.names.len() {
            for phone in keys.phones(row) {
                let first = *first_of[*phone as usize].get_or_insert(row);
                clusters.join(first, row);
            }
        }
        drop(first_of);
        clusters.join_compatible(|row| keys.accounts[row].map(|account| Cow::Owned(fold_key(account))));
        clusters.join_compatible(|row| keys.emails[row].as_deref().map(Cow::Borrowed));
        clusters.rows()
    }

    fn new(keys: &'a Keys<'a>, many_addresses: usize) -> Self {
        let rows = number(keys.names.len());
        Self {
            keys,
            parent: (0..rows).collect(),
            size: vec![1; rows as usize],
            held: HashMap::new(),
            many_addresses,
        }
    }

    fn rows(mut self) -> Vec<Vec<u32>> {
        // Every row comes after the first of its cluster, so that the clusters are met in the order wanted.
        let mut place_of: Vec<u32> = vec![u32::MAX; self.parent.len()];
        let mut rows: Vec<Vec<u32>> = Vec::new();
        for row in 0..self.parent.len() {
            let root = self.root(row);
            if place_of[root] == u32::MAX {
                place_of[root] = number(rows.len());
                rows.push(Vec::with_capacity(self.size[root] as usize));
            }
            rows[place_of[root] as usize].push(number(row));
        }
        rows
    }

    fn root(&mut self, mut at: usize) -> usize {
        while self.parent[at] as usize != at {
            self.parent[at] = self.parent[self.parent[at] as usize];
            at = self.parent[at] as usize;
        }
        at
    }

    /// What the cluster of a root holds.
    fn held(&self, root: usize) -> Cow<'_, Held<'a>> {
        match self.held.get(&root) {
            Some(held) => Cow::Borrowed(held),
            None => Cow::Owned(self.of_one(root)),
        }
    }

    /// What a single row holds.
    fn of_one(&self, row: usize) -> Held<'a> {
        let names = self.keys.names[row].into_iter();
        Held {
            names: names.filter(|name| !name_words(name).is_empty()).collect(),
            phones: self.keys.phones(row).to_vec(),
            addresses: self.keys.addresses[row].into_iter().map(fold_key).collect(),
        }
    }

    fn take(&mut self, root: usize) -> Held<'a> {
        self.held.remove(&root).unwrap_or_else(|| self.of_one(root))
    }

    fn join(&mut self, a: usize, b: usize) {
        let (mut a, mut b) = (self.root(a), self.root(b));
        if a == b {
            return;
        }
        if self.size[a] < self.size[b] {
            std::mem::swap(&mut a, &mut b);
        }
        let (mut held, other) = (self.take(a), self.take(b));
        self.parent[b] = number(a);
        self.size[a] += self.size[b];
        for name in other.names {
            let known = |name: &str| held.names.iter().any(|known| name_words(known) == name_words(name));
            if held.names.len() <= MOST_NAMES && !known(name) {
                held.names.push(name);
            }
        }
        for phone in other.phones {
            if !held.phones.contains(&phone) {
                held.phones.push(phone);
            }
        }
        for address in other.addresses {
            if held.addresses.len() <= self.many_addresses && !held.addresses.contains(&address) {
                held.addresses.push(address);
            }
        }
        self.held.insert(a, held);
    }

    /// Joins rows that share the key, each to the first cluster of that key that it does not contradict.
    fn join_compatible<'k>(&mut self, key: impl Fn(usize) -> Option<Cow<'k, str>>) {
        // The first row of each key; those that contradicted it by that row.
        let mut first_of: HashMap<Cow<'k, str>, u32> = HashMap::new();
        let mut others_of: HashMap<u32, Vec<u32>> = HashMap::new();
        for row in 0..self.parent.len() {
            let Some(key) = key(row).filter(|key| !key.is_empty()) else {
                continue;
            };
            let first = match first_of.entry(key) {
                Entry::Vacant(free) => {
                    free.insert(number(row));
                    continue;
                }
                Entry::Occupied(known) => *known.get(),
            };
            let others = others_of.get(&first).map_or(&[][..], Vec::as_slice);
            let known: Vec<u32> = std::iter::once(first).chain(others.iter().copied()).collect();
            match known.iter().find(|other| self.compatible(**other as usize, row)) {
                Some(other) => self.join(*other as usize, row),
                None if known.len() < MOST_OF_ONE_KEY => others_of.entry(first).or_default().push(number(row)),
                None => {}
            }
        }
    }

    fn compatible(&mut self, a: usize, b: usize) -> bool {
        let (a, b) = (self.root(a), self.root(b));
        if a == b {
            return true;
        }
        let (a, b) = (self.held(a), self.held(b));
        let crowded = |held: &Held<'_>| held.names.len() > MOST_NAMES || held.addresses.len() > self.many_addresses;
        if crowded(&a) || crowded(&b) {
            return false;
        }
        let words = |held: &Held<'_>| held.names.iter().map(|name| name_words(name)).collect::<Vec<_>>();
        let (mine, theirs) = (words(&a), words(&b));
        let agree = mine
            .iter()
            .all(|one| theirs.iter().all(|other| names_agree(one, other)));
        let both_named = !mine.is_empty() && !theirs.is_empty();
        let numbers_differ =
            !a.phones.is_empty() && !b.phones.is_empty() && !a.phones.iter().any(|phone| b.phones.contains(phone));
        agree && (!numbers_differ || both_named)
    }
}
