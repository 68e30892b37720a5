//! The only place that asks what time it is, or for randomness. Everything else is handed both.

use chrono::{DateTime, DurationRound, TimeDelta, Utc};
use rand::Rng;
use std::sync::Arc;
use uuid::Uuid;

pub trait Clock: Send + Sync {
    fn now(&self) -> DateTime<Utc>;
}

pub trait Chance: Send + Sync {
    fn fill(&self, bytes: &mut [u8]);
}

/// Clock and randomness as they are handed around.
#[derive(Clone)]
pub struct Ambient {
    clock: Arc<dyn Clock>,
    chance: Arc<dyn Chance>,
}

impl Ambient {
    pub fn new(clock: Arc<dyn Clock>, chance: Arc<dyn Chance>) -> Self {
        Self { clock, chance }
    }

    /// The machine's own clock and the operating system's randomness.
    pub fn real() -> Self {
        Self::new(Arc::new(WallClock), Arc::new(SystemChance))
    }

    /// Now, to the microsecond: finer times do not survive PostgreSQL.
    pub fn now(&self) -> DateTime<Utc> {
        let now = self.clock.now();
        now.duration_trunc(TimeDelta::microseconds(1)).unwrap_or(now)
    }

    /// A new id (UUIDv7: sorts by time of making).
    pub fn id<T: From<Uuid>>(&self) -> T {
        let mut random = [0; 10];
        self.chance.fill(&mut random);
        let millis = u64::try_from(self.now().timestamp_millis()).unwrap_or_default();
        uuid::Builder::from_unix_timestamp_millis(millis, &random).into_uuid().into()
    }

    /// 32 random bytes, URL-safe: for sessions, tokens and one-time links.
    pub fn secret(&self) -> String {
        use base64::Engine;
        let mut random = [0; 32];
        self.chance.fill(&mut random);
        base64::engine::general_purpose::URL_SAFE_NO_PAD.encode(random)
    }

    pub fn bytes<const N: usize>(&self) -> [u8; N] {
        let mut random = [0; N];
        self.chance.fill(&mut random);
        random
    }
}

struct WallClock;

impl Clock for WallClock {
    #[expect(clippy::disallowed_methods, reason = "the one place")]
    fn now(&self) -> DateTime<Utc> {
        Utc::now()
    }
}

struct SystemChance;

impl Chance for SystemChance {
    #[expect(clippy::disallowed_methods, reason = "the one place")]
    fn fill(&self, bytes: &mut [u8]) {
        rand::rng().fill_bytes(bytes);
    }
}
