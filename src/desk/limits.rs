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
/// himself down: at one account from one address, at one account from anywhere, and from one address at any account. An account that
/// has signed in from an address is bound by the first of the three alone there, so that neither somebody who tries names from the same
/// office nor many strangers who try this name keep it out. The numbers are judgement: ten slips of one person in a row, then one in
/// ten seconds.
pub struct SignIns {
    account_at_address: Limiter<(String, IpAddr)>,
    account: Limiter<String>,
    address: Limiter<IpAddr>,
    /// Which accounts have signed in from which addresses, and when last.
    known: Mutex<HashMap<(String, IpAddr), Instant>>,
}

impl Default for SignIns {
    fn default() -> Self {
        Self {
            account_at_address: Limiter::new(0.1, 10.0),
            account: Limiter::new(1.0, 100.0),
            address: Limiter::new(0.5, 50.0),
            known: Mutex::default(),
        }
    }
}

impl SignIns {
    fn is_known(&self, pair: &(String, IpAddr)) -> bool {
        self.known
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .contains_key(pair)
    }

    /// How long a try must wait; zero when it may be made.
    pub fn wait(&self, name: &str, address: IpAddr, now: Instant) -> Duration {
        let pair = (name.to_owned(), address);
        let own = self.account_at_address.wait(&pair, now);
        if self.is_known(&pair) {
            return own;
        }
        own.max(self.account.wait(&pair.0, now))
            .max(self.address.wait(&address, now))
    }

    /// Counts a wrong password.
    pub fn failed(&self, name: &str, address: IpAddr, now: Instant) {
        let pair = (name.to_owned(), address);
        // One that slips at a known place takes nothing from the others there.
        let known = self.is_known(&pair);
        self.account_at_address.take(pair, now);
        if !known {
            self.account.take(name.to_owned(), now);
            self.address.take(address, now);
        }
    }

    /// Remembers where an account signs in from.
    pub fn succeeded(&self, name: &str, address: IpAddr, now: Instant) {
        let mut known = self.known.lock().unwrap_or_else(PoisonError::into_inner);
        if known.len() >= MOST_KEYS
            && let Some(oldest) = known.iter().min_by_key(|(_, at)| **at).map(|(pair, _)| pair.clone())
        {
            known.remove(&oldest);
        }
        known.insert((name.to_owned(), address), now);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn address(last: u8) -> IpAddr {
        IpAddr::from([192, 0, 2, last])
    }

    #[test]
    fn a_guesser_waits_longer_at_each_account_and_those_who_belong_there_do_not() {
        let (limits, now) = (SignIns::default(), Instant::now());
        limits.succeeded("rosa", address(1), now);
        // Names tried from the office: after fifty the address waits, but not for who has signed in from it before.
        for n in 0..50 {
            assert!(limits.wait(&format!("n{n}"), address(1), now).is_zero());
            limits.failed(&format!("n{n}"), address(1), now);
        }
        assert!(!limits.wait("n50", address(1), now).is_zero());
        assert!(limits.wait("rosa", address(1), now).is_zero());
        assert!(limits.wait("n50", address(2), now).is_zero());
        // Her own slips count as anybody's: ten, then one in ten seconds.
        for _ in 0..10 {
            assert!(limits.wait("rosa", address(1), now).is_zero());
            limits.failed("rosa", address(1), now);
        }
        let wait = limits.wait("rosa", address(1), now);
        assert!((9.0..=10.0).contains(&wait.as_secs_f64()), "{wait:?}");
        assert!(limits.wait("rosa", address(1), now + Duration::from_secs(11)).is_zero());
        // Many strangers at one name: who signs in from where she always does is let in, a stranger's next try is not.
        for n in 0..100 {
            limits.failed("rosa", address(10 + n), now);
        }
        assert!(!limits.wait("rosa", address(200), now).is_zero());
        let later = now + Duration::from_secs(11);
        assert!(limits.wait("rosa", address(1), later).is_zero());
    }
}
