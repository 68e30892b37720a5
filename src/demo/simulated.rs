//! A clock that is set, and randomness that repeats: the same seed makes the same history.

use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};
use std::sync::{Mutex, PoisonError};

use chrono::{DateTime, Utc};
use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};

use crate::clock::{Ambient, Chance, Clock};

#[derive(Clone)]
pub struct Simulated {
    micros: Arc<AtomicI64>,
    random: Arc<Mutex<StdRng>>,
}

impl Simulated {
    pub fn new(seed: u64, at: DateTime<Utc>) -> Self {
        Self {
            micros: Arc::new(AtomicI64::new(at.timestamp_micros())),
            random: Arc::new(Mutex::new(StdRng::seed_from_u64(seed))),
        }
    }

    pub fn ambient(&self) -> Ambient {
        Ambient::new(Arc::new(self.clone()), Arc::new(self.clone()))
    }

    pub fn set(&self, at: DateTime<Utc>) {
        self.micros.store(at.timestamp_micros(), Ordering::Relaxed);
    }
}

impl Clock for Simulated {
    fn now(&self) -> DateTime<Utc> {
        DateTime::from_timestamp_micros(self.micros.load(Ordering::Relaxed)).unwrap_or_default()
    }
}

impl Chance for Simulated {
    fn fill(&self, bytes: &mut [u8]) {
        self.random.lock().unwrap_or_else(PoisonError::into_inner).fill_bytes(bytes);
    }
}
