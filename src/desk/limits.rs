//! How often somebody may do something, so that one cannot starve or guess for the others.

use std::collections::HashMap;
use std::hash::Hash;
use std::net::IpAddr;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

/// Keys remembered at once.
const MOST_KEYS: usize = 20_000;

/// A bucket for each key: it fills at a steady rate up to a burst.
pub struct Limiter<K> {
    per_second: f64,
    burst: f64,
    buckets: Mutex<HashMap<K, (f64, Instant)>>,
}

impl<K: Hash + Eq> Limiter<K> {
    /// A limiter of `per_second` after a burst of `burst`.
    pub fn new(per_second: f64, burst: f64) -> Self {
        Self {
            per_second,
            burst,
            buckets: Mutex::new(HashMap::new()),
        }
    }

    fn filled(&self, left: f64, at: Instant, now: Instant) -> f64 {
        (left + now.saturating_duration_since(at).as_secs_f64() * self.per_second).min(self.burst)
    }

    /// Takes one from the key's bucket at `now`; `false` when it is empty.
    pub fn take(&self, key: K, now: Instant) -> bool {
        let mut buckets = self.buckets.lock().unwrap_or_else(PoisonError::into_inner);
        if buckets.len() >= MOST_KEYS && !buckets.contains_key(&key) {
            // A full bucket remembers nothing worth keeping.
            let burst = self.burst;
            buckets.retain(|_, (left, at)| self.filled(*left, *at, now) < burst);
            if buckets.len() >= MOST_KEYS {
                return false;
            }
        }
        let (left, at) = buckets.entry(key).or_insert((self.burst, now));
        *left = self.filled(*left, *at, now);
        *at = now;
        if *left >= 1.0 {
            *left -= 1.0;
            true
        } else {
            false
        }
    }

    /// How long until the key's bucket holds one; zero when it does.
    pub fn wait(&self, key: &K, now: Instant) -> Duration {
        let buckets = self.buckets.lock().unwrap_or_else(PoisonError::into_inner);
        let left = buckets
            .get(key)
            .map_or(self.burst, |(left, at)| self.filled(*left, *at, now));
        Duration::from_secs_f64(((1.0 - left) / self.per_second).max(0.0))
    }
}

/// Wrong passwords: only they cost anything, so an office behind one address signs in as often as it likes, while a guesser slows
/// himself down: at one account from one address, at one account from anywhere, and from one address at any account. The numbers are
/// judgement: ten slips of one person in a row, then one in ten seconds.
pub struct SignIns {
    account_at_address: Limiter<(String, IpAddr)>,
    account: Limiter<String>,
    address: Limiter<IpAddr>,
}

impl Default for SignIns {
    fn default() -> Self {
        Self {
            account_at_address: Limiter::new(0.1, 10.0),
            account: Limiter::new(1.0, 100.0),
            address: Limiter::new(0.5, 50.0),
        }
    }
}

impl SignIns {
    /// How long a try must wait; zero when it may be made.
    pub fn wait(&self, name: &str, address: IpAddr, now: Instant) -> Duration {
        self.account_at_address
            .wait(&(name.to_owned(), address), now)
            .max(self.account.wait(&name.to_owned(), now))
            .max(self.address.wait(&address, now))
    }

    /// Counts a wrong password.
    pub fn failed(&self, name: &str, address: IpAddr, now: Instant) {
        self.account_at_address.take((name.to_owned(), address), now);
        self.account.take(name.to_owned(), now);
        self.address.take(address, now);
    }
}
