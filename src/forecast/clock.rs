//! Nights and the pace of the water: when moults stand, in days from the netting.

use thiserror::Error;

/// The hour at which the moults of a night stand.
///
/// # Source
/// Wassenberg & Hill 1984: mean hour of ecdysis of P. esculentus 22:30, by night only.
pub const MOULT_HOUR: f64 = 22.5;
/// The hour at which a night begins: a tally expires then.
pub const DUSK_HOUR: f64 = 18.0;
/// The hour at which a night ends.
pub const DAWN_HOUR: f64 = 6.0;
/// The mean wait from the end of a cycle to the next night's moults, in days.
pub(crate) const MEAN_DELAY_DAYS: f64 = 0.5;

/// Hours or paces that are none.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum ClockError {
    /// An hour outside the day.
    #[error("{0} is no hour of the day: use 0 or more and less than 24")]
    Hour(f64),
    /// An hour of the moults outside the night.
    #[error("moults at {0} h are not at night: use 18 to 24 or 0 to 6")]
    MoultHour(f64),
    /// A pace at which nothing moves.
    #[error("a pace of {0} cycles per cycle is none: use numbers above 0")]
    Pace(f64),
}

/// The clock of one forecast; times are days from the netting, `e` for elapsed.
///
/// Night 0 is the last one whose moults stand before the netting, night 1 the next.
#[derive(Debug, Clone, PartialEq)]
pub struct NightClock {
    /// Days since the moults of night 0.
    since: f64,
    /// Days until the end of the night, when netted after its moults stand; else 0.
    rest: f64,
    /// How fast the cycle runs on each day after the netting; the last holds on.
    paces: Vec<f64>,
}

impl NightClock {
    /// A clock for a netting at a local hour (0..24) and the pace of the days that follow; an
    /// empty list is a pace of 1.
    ///
    /// # Errors
    /// [`ClockError`] for an hour outside the day or a pace that is not above 0.
    pub fn new(hour: f64, paces: Vec<f64>) -> Result<Self, ClockError> {
        Self::with_moults_at(MOULT_HOUR, hour, paces)
    }

    /// As [`new`](Self::new), where the moults of a night stand at another hour of it.
    ///
    /// # Errors
    /// [`ClockError`] as well for an hour of the moults that is not between dusk and dawn.
    pub fn with_moults_at(moult_hour: f64, hour: f64, paces: Vec<f64>) -> Result<Self, ClockError> {
        if !(0.0..24.0).contains(&hour) {
            return Err(ClockError::Hour(hour));
        }
        let by_night =
            (DUSK_HOUR..24.0).contains(&moult_hour) || (0.0..DAWN_HOUR).contains(&moult_hour);
        if !by_night {
            return Err(ClockError::MoultHour(moult_hour));
        }
        if let Some(&bad) = paces.iter().find(|p| !(p.is_finite() && **p > 0.0)) {
            return Err(ClockError::Pace(bad));
        }
        let since = (hour - moult_hour).rem_euclid(24.0) / 24.0;
        let night_left = (DAWN_HOUR - moult_hour).rem_euclid(24.0) / 24.0;
        let rest = (night_left - since).max(0.0);
        Ok(Self { since, rest, paces })
    }

    /// When the moults of a night stand, in days from the netting; night 0 is past.
    pub fn night(&self, night: usize) -> f64 {
        night as f64 - self.since
    }

    /// The last night whose moults stand at or before a time.
    pub fn nights_by(&self, e: f64) -> usize {
        (e + self.since + 1e-9).floor().max(0.0) as usize
    }

    /// The end of the cycles that moult by a night: for night 0 the end of that night.
    pub(crate) fn ends_by(&self, night: usize) -> f64 {
        if night == 0 {
            self.paced(self.rest)
        } else {
            self.paced(self.night(night))
        }
    }

    /// Says whether the sample was netted after the moults of its night stand and before its end.
    pub(crate) const fn netted_late_in_a_night(&self) -> bool {
        self.rest > 0.0
    }

    /// Days of the cycle's own clock that pass until a time; before the netting its pace is 1.
    pub(crate) fn paced(&self, e: f64) -> f64 {
        let Some(&last) = self.paces.last() else {
            return e;
        };
        if e <= 0.0 {
            return e;
        }
        let whole = (e.floor() as usize).min(self.paces.len());
        let passed: f64 = self.paces[..whole].iter().sum();
        let pace = self.paces.get(whole).copied().unwrap_or(last);
        passed + (e - whole as f64) * pace
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nights_are_counted_by_the_hour_at_which_their_moults_stand() {
        let morning = NightClock::new(6.0, Vec::new()).unwrap();
        assert_eq!(morning.night(1), 0.6875);
        assert_eq!(morning.nights_by(0.68), 0);
        assert_eq!(morning.nights_by(0.6875), 1);
        assert_eq!(morning.nights_by(1.0), 1);
        assert!(!morning.netted_late_in_a_night());
        let evening = NightClock::new(20.0, Vec::new()).unwrap();
        assert!((evening.night(1) - 2.5 / 24.0).abs() < 1e-12);
        assert!(!evening.netted_late_in_a_night());
        let late = NightClock::new(2.0, Vec::new()).unwrap();
        assert!(late.netted_late_in_a_night());
        assert!((late.ends_by(0) - 4.0 / 24.0).abs() < 1e-12);
    }

    #[test]
    fn warm_days_pass_faster() {
        let clock = NightClock::new(6.0, vec![1.0, 1.5]).unwrap();
        assert_eq!(clock.paced(0.5), 0.5);
        assert_eq!(clock.paced(1.5), 1.75);
        assert_eq!(clock.paced(4.0), 5.5);
        assert!(NightClock::new(6.0, vec![0.0]).is_err());
        assert!(NightClock::new(24.0, Vec::new()).is_err());
        assert!(NightClock::with_moults_at(12.0, 6.0, Vec::new()).is_err());
        let early = NightClock::with_moults_at(19.0, 6.0, Vec::new()).unwrap();
        assert!((early.night(1) - 13.0 / 24.0).abs() < 1e-12);
    }
}
