//! Draws that are the same on every machine.

use rand_pcg::Pcg64;
use rand_pcg::rand_core::{Rng, SeedableRng};

/// A stream of draws.
pub struct Draw(Pcg64);

impl Draw {
    /// The stream of a seed and a purpose, so that one purpose does not shift the draws of another.
    pub fn new(seed: u64, purpose: u64) -> Self {
        Self(Pcg64::seed_from_u64(
            seed.wrapping_mul(0x9E37_79B9_7F4A_7C15).wrapping_add(purpose),
        ))
    }

    /// Uniform in [0, 1).
    pub fn unit(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Uniform in 0..n; 0 when n is 0.
    pub fn below(&mut self, n: usize) -> usize {
        // The multiply-shift of a 64-bit draw: its bias is below n / 2^64.
        ((u128::from(self.0.next_u64()) * n as u128) >> 64) as usize
    }

    /// True with this chance.
    pub fn chance(&mut self, p: f64) -> bool {
        self.unit() < p
    }

    /// One of the items; they are never empty.
    pub fn of<T: Copy>(&mut self, items: &[T]) -> T {
        let at = self.below(items.len());
        items[at.min(items.len() - 1)]
    }

    /// One of the items by weight; they are never empty.
    pub fn weighted<T: Copy>(&mut self, items: &[(u32, T)]) -> T {
        let total: u32 = items.iter().map(|item| item.0).sum();
        let mut left = self.below(total as usize) as u32;
        for (weight, item) in items {
            if left < *weight {
                return *item;
            }
            left -= weight;
        }
        items[0].1
    }

    /// Shuffles in place.
    pub fn shuffle<T>(&mut self, items: &mut [T]) {
        for last in (1..items.len()).rev() {
            items.swap(last, self.below(last + 1));
        }
    }
}
