//! Which listings are one person: union-find, with what each cluster holds so far.

use super::listing::Listing;
use super::phone::Phone;
use std::collections::{BTreeSet, HashMap};

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

/// Union-find over listings, with what each cluster holds so far.
pub(super) struct Clusters {
    parent: Vec<usize>,
    size: Vec<usize>,
    names: Vec<Vec<Vec<String>>>,
    phones: Vec<Vec<String>>,
    addresses: Vec<BTreeSet<String>>,
    many_addresses: usize,
}

impl Clusters {
    pub fn new(listings: &[Listing], many_addresses: usize) -> Self {
        Self {
            parent: (0..listings.len()).collect(),
            size: vec![1; listings.len()],
            names: listings
                .iter()
                .map(|l| {
                    l.name
                        .iter()
                        .map(|name| name_words(name))
                        .filter(|w| !w.is_empty())
                        .collect()
                })
                .collect(),
            phones: listings
                .iter()
                .map(|l| l.phones.iter().map(Phone::key).collect())
                .collect(),
            addresses: listings
                .iter()
                .map(|l| l.address.iter().map(|address| fold_key(address)).collect())
                .collect(),
            many_addresses,
        }
    }

    pub fn root(&mut self, mut at: usize) -> usize {
        while self.parent[at] != at {
            self.parent[at] = self.parent[self.parent[at]];
            at = self.parent[at];
        }
        at
    }

    pub fn join(&mut self, a: usize, b: usize) {
        let (mut a, mut b) = (self.root(a), self.root(b));
        if a == b {
            return;
        }
        if self.size[a] < self.size[b] {
            std::mem::swap(&mut a, &mut b);
        }
        self.parent[b] = a;
        self.size[a] += self.size[b];
        for name in std::mem::take(&mut self.names[b]) {
            if self.names[a].len() <= MOST_NAMES && !self.names[a].contains(&name) {
                self.names[a].push(name);
            }
        }
        for phone in std::mem::take(&mut self.phones[b]) {
            if !self.phones[a].contains(&phone) {
                self.phones[a].push(phone);
            }
        }
        let addresses = std::mem::take(&mut self.addresses[b]);
        for address in addresses {
            if self.addresses[a].len() <= self.many_addresses {
                self.addresses[a].insert(address);
            }
        }
    }

    /// Joins listings that share the key, each to the first cluster of that key that it does not contradict.
    pub fn join_compatible(&mut self, listings: &[Listing], key: impl Fn(&Listing) -> Option<String>) {
        let mut seen: HashMap<String, Vec<usize>> = HashMap::new();
        for (at, listing) in listings.iter().enumerate() {
            let Some(key) = key(listing).filter(|key| !key.is_empty()) else {
                continue;
            };
            let known = seen.entry(key).or_default();
            let mut joined = false;
            for &other in known.iter() {
                if self.compatible(other, at) {
                    self.join(other, at);
                    joined = true;
                    break;
                }
            }
            // Beyond a handful of contradicting clusters the key is a switchboard's and joins nobody.
            if !joined && known.len() < 8 {
                known.push(at);
            }
        }
    }

    fn compatible(&mut self, a: usize, b: usize) -> bool {
        let (a, b) = (self.root(a), self.root(b));
        if a == b {
            return true;
        }
        let crowded = |at: usize| self.names[at].len() > MOST_NAMES || self.addresses[at].len() > self.many_addresses;
        if crowded(a) || crowded(b) {
            return false;
        }
        let agree = self.names[a]
            .iter()
            .all(|one| self.names[b].iter().all(|other| names_agree(one, other)));
        let both_named = !self.names[a].is_empty() && !self.names[b].is_empty();
        let numbers_differ = !self.phones[a].is_empty()
            && !self.phones[b].is_empty()
            && !self.phones[a].iter().any(|phone| self.phones[b].contains(phone));
        agree && (!numbers_differ || both_named)
    }
}
