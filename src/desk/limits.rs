//! How many requests one address may make, so that one client cannot starve the others.

use std::collections::HashMap;
use std::net::IpAddr;
use std::sync::Mutex;
use std::time::Instant;

/// Addresses remembered at once.
const MOST_ADDRESSES: usize = 20_000;

/// A bucket of requests for each address: it fills at a steady rate up to a burst.
pub struct Limiter {
    per_second: f64,
    burst: f64,
    buckets: Mutex<HashMap<IpAddr, (f64, Instant)>>,
}

impl Limiter {
    /// A limiter of `per_second` requests after a burst of `burst`.
    pub fn new(per_second: f64, burst: f64) -> Self {
        Self {
            per_second,
            burst,
            buckets: Mutex::new(HashMap::new()),
        }
    }

    /// Takes one request from the address's bucket at `now`; `false` when it is empty.
    pub fn take(&self, address: IpAddr, now: Instant) -> bool {
        let mut buckets = self.buckets.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        if buckets.len() >= MOST_ADDRESSES && !buckets.contains_key(&address) {
            // A full bucket remembers nothing worth keeping.
            let (rate, burst) = (self.per_second, self.burst);
            buckets.retain(|_, (left, at)| *left + now.saturating_duration_since(*at).as_secs_f64() * rate < burst);
            if buckets.len() >= MOST_ADDRESSES {
                return false;
            }
        }
        let (left, at) = buckets.entry(address).or_insert((self.burst, now));
        let filled = *left + now.saturating_duration_since(*at).as_secs_f64() * self.per_second;
        *left = filled.min(self.burst);
        *at = now;
        if *left >= 1.0 {
            *left -= 1.0;
            true
        } else {
            false
        }
    }
}
