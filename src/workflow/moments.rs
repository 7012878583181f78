//! Moments with the clock of the pond: dates and hours in and out.

use crate::records::stamp::Stamp;
use crate::texts::dates::Civil;
use jiff::SignedDuration;
use jiff::Timestamp;
use jiff::civil::DateTime;
use jiff::civil::Time;
use jiff::fmt::temporal::Pieces;
use jiff::tz::Offset;
use jiff::tz::TimeZone;
use std::fmt;
use std::str::FromStr;
use thiserror::Error;

/// A moment, and the clock it is read on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Moment {
    at: Timestamp,
    offset: Offset,
}

/// A text that is no moment.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error(
    "\"{0}\" is no moment: write date, hour and the pond's offset from universal time, for example 2026-11-26T06:00+07:00, or give the pond's zone and write 2026-11-26T06:00"
)]
pub struct MomentError(pub String);

/// The clock of a pond: its time zone with all its changes, or a fixed offset.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PondClock {
    zone: TimeZone,
}

/// A name of no time zone.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error(
    "\"{0}\" is no time zone known on this computer: write its IANA name, such as Asia/Ho_Chi_Minh or America/Guayaquil"
)]
pub struct ZoneError(pub String);

impl PondClock {
    /// The clock of an IANA time zone.
    ///
    /// # Errors
    /// [`ZoneError`] for a name that the computer's list of zones does not hold.
    pub fn of_zone(name: &str) -> Result<Self, ZoneError> {
        match TimeZone::get(name.trim()) {
            Ok(zone) => Ok(Self { zone }),
            Err(_) => Err(ZoneError(name.to_owned())),
        }
    }

    /// The clock on which a moment was written.
    pub const fn of_moment(moment: Moment) -> Self {
        Self {
            zone: TimeZone::fixed(moment.offset),
        }
    }

    /// The IANA name of the zone; absent for a fixed offset.
    pub fn name(&self) -> Option<&str> {
        self.zone.iana_name()
    }

    /// Reads a moment, with its own offset or in the zone of the pond. An hour that the zone skips or
    /// has twice is taken as the calendar usually does: after the gap, and the first of two.
    ///
    /// # Errors
    /// [`MomentError`] for a text that is no moment.
    pub fn read(&self, text: &str) -> Result<Moment, MomentError> {
        if let Ok(moment) = text.parse::<Moment>() {
            return Ok(self.see(moment));
        }
        let wrong = || MomentError(text.to_owned());
        let pieces = Pieces::parse(text.trim()).ok().ok_or_else(wrong)?;
        let time: Time = pieces.time().ok_or_else(wrong)?;
        let local = pieces.date().to_datetime(time);
        self.moment_at(local).ok_or_else(wrong)
    }

    /// The same moment on this clock.
    #[must_use]
    pub fn see(&self, moment: Moment) -> Moment {
        Moment {
            offset: self.zone.to_offset(moment.at),
            ..moment
        }
    }

    /// Days on this clock from one moment to a later one: from six in the morning to six the next is
    /// one day, also when the clock was changed in between.
    pub fn days_between(&self, earlier: Moment, later: Moment) -> f64 {
        let [earlier, later] = [earlier, later].map(|m| self.zone.to_datetime(m.at));
        later.duration_since(earlier).as_secs_f64() / 86_400.0
    }

    /// The moment some days later on this clock; absent beyond the calendar.
    pub fn later(&self, from: Moment, days: f64) -> Option<Moment> {
        let by = SignedDuration::try_from_secs_f64(days * 86_400.0).ok()?;
        let local = self.zone.to_datetime(from.at).checked_add(by).ok()?;
        self.moment_at(local)
    }

    /// The first moment after another at which this clock shows an hour (0..24).
    pub fn next_hour(&self, after: Moment, hour: f64) -> Option<Moment> {
        let shown = self.see(after).hour();
        let ahead = (hour - shown).rem_euclid(24.0);
        let ahead = if ahead < 1e-9 { 24.0 } else { ahead };
        self.later(after, ahead / 24.0)
    }

    fn moment_at(&self, local: DateTime) -> Option<Moment> {
        let at = self.zone.to_timestamp(local).ok()?;
        let offset = self.zone.to_offset(at);
        Some(Moment { at, offset })
    }
}

impl Moment {
    /// Now, on the clock of this machine.
    pub fn now() -> Self {
        let zoned = jiff::ZonedDateTime::now();
        Self {
            at: zoned.timestamp(),
            offset: zoned.offset(),
        }
    }

    /// The hour on its own clock, 0..24.
    pub fn hour(self) -> f64 {
        let time = self.civil().time();
        let seconds = f64::from(time.minute()) * 60.0 + f64::from(time.second());
        f64::from(time.hour()) + seconds / 3600.0
    }

    /// Days from an earlier moment to this one; negative when it is later.
    pub fn days_since(self, earlier: Self) -> f64 {
        self.at.duration_since(earlier.at).as_secs_f64() / 86_400.0
    }

    /// The moment some days later, on the same clock; absent beyond the calendar.
    pub fn later(self, days: f64) -> Option<Self> {
        let by = SignedDuration::try_from_secs_f64(days * 86_400.0).ok()?;
        let at = self.at.checked_add(by).ok()?;
        Some(Self { at, ..self })
    }

    /// The same moment on the clock of another.
    #[must_use]
    pub const fn on_clock_of(self, other: Self) -> Self {
        Self {
            offset: other.offset,
            ..self
        }
    }

    /// The date on its own clock, as 2026-11-26.
    pub fn date(self) -> String {
        self.civil().date().to_string()
    }

    /// Date, hour and clock, for texts.
    pub fn spoken(self) -> Civil {
        let civil = self.civil();
        Civil {
            year: civil.year().unsigned_abs(),
            month: civil.month().unsigned_abs(),
            day: civil.day().unsigned_abs(),
            hour: civil.hour().unsigned_abs(),
            minute: civil.minute().unsigned_abs(),
            offset_minutes: self.offset.seconds() / 60,
        }
    }

    /// The Julian day of universal time.
    pub fn julian_day(self) -> f64 {
        self.at.as_second() as f64 / 86_400.0 + 2_440_587.5
    }

    fn civil(self) -> DateTime {
        // Half a second up, so that rounding in days does not print 05:59 for 06:00.
        let rounded = self
            .at
            .checked_add(SignedDuration::from_millis(500))
            .unwrap_or(self.at);
        self.offset.to_datetime(rounded)
    }
}

impl TryFrom<Stamp> for Moment {
    type Error = MomentError;

    fn try_from(stamp: Stamp) -> Result<Self, MomentError> {
        stamp.to_string().parse()
    }
}

impl FromStr for Moment {
    type Err = MomentError;

    fn from_str(text: &str) -> Result<Self, MomentError> {
        let wrong = || MomentError(text.to_owned());
        let pieces = Pieces::parse(text.trim()).ok().ok_or_else(wrong)?;
        let offset = pieces.to_numeric_offset().ok_or_else(wrong)?;
        let time: Time = pieces.time().ok_or_else(wrong)?;
        let at = offset
            .to_timestamp(pieces.date().to_datetime(time))
            .ok()
            .ok_or_else(wrong)?;
        Ok(Self { at, offset })
    }
}

impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (civil, minutes) = (self.civil(), self.offset.seconds() / 60);
        let sign = if minutes < 0 { '-' } else { '+' };
        let (hours, rest) = (minutes.abs() / 60, minutes.abs() % 60);
        let (hour, minute) = (civil.hour(), civil.minute());
        write!(
            f,
            "{}T{hour:02}:{minute:02}{sign}{hours:02}:{rest:02}",
            civil.date()
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moments_come_back_as_they_were_written() {
        for text in [
            "2026-11-26T06:00+07:00",
            "2026-02-28T23:45-03:30",
            "2026-01-01T00:00+00:00",
        ] {
            assert_eq!(text.parse::<Moment>().unwrap().to_string(), text);
        }
        for bad in [
            "",
            "2026-11-26",
            "2026-11-26T06:00",
            "2026-13-26T06:00+07:00",
            "tomorrow",
        ] {
            assert!(bad.parse::<Moment>().is_err(), "{bad}");
        }
    }

    #[test]
    fn a_zone_keeps_its_nights_when_the_clocks_change() {
        let clock = PondClock::of_zone("Asia/Ho_Chi_Minh").unwrap();
        assert_eq!(clock.name(), Some("Asia/Ho_Chi_Minh"));
        let paris = PondClock::of_zone("Europe/Paris").unwrap();
        // Summer time begins on the last Sunday of March, 2026-03-29.
        let netted = paris.read("2026-03-28T06:00").unwrap();
        assert_eq!(netted.to_string(), "2026-03-28T06:00+01:00");
        let next = paris.later(netted, 1.0).unwrap();
        assert_eq!(next.to_string(), "2026-03-29T06:00+02:00");
        assert_eq!(paris.days_between(netted, next), 1.0);
        assert!((next.days_since(netted) - 23.0 / 24.0).abs() < 1e-9);
        let dusk = paris.next_hour(netted, 18.0).unwrap();
        assert_eq!(dusk.to_string(), "2026-03-28T18:00+01:00");
        let other = paris.read("2026-03-29T04:00Z").unwrap();
        assert_eq!(other, next);
        assert!(PondClock::of_zone("Pond/North").is_err());
        assert!(paris.read("tomorrow").is_err());
        let fixed: Moment = "2026-11-26T18:00+07:00".parse().unwrap();
        let dusk = PondClock::of_moment(fixed).next_hour(fixed, 18.0).unwrap();
        assert_eq!(dusk.to_string(), "2026-11-27T18:00+07:00");
    }

    #[test]
    fn days_are_counted_across_clocks() {
        let netted: Moment = "2026-11-26T06:00+07:00".parse().unwrap();
        let start: Moment = "2026-11-27T00:00+01:00".parse().unwrap();
        assert_eq!(start.days_since(netted), 1.0);
        assert_eq!(
            start.on_clock_of(netted).to_string(),
            "2026-11-27T06:00+07:00"
        );
        assert_eq!(
            netted.later(1.0 / 3.0).unwrap().to_string(),
            "2026-11-26T14:00+07:00"
        );
        assert_eq!(netted.hour(), 6.0);
        // 2000-01-01 12:00 universal time is Julian day 2451545.
        let noon: Moment = "2000-01-01T12:00Z".parse().unwrap();
        assert_eq!(noon.julian_day(), 2_451_545.0);
    }
}
