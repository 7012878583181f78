//! A moment as it is kept: universal time in milliseconds, and the clock it was read on.

use jiff::Timestamp;
use jiff::fmt::temporal::Pieces;
use jiff::tz::Offset;
use serde::Deserialize;
use serde::Deserializer;
use serde::Serialize;
use serde::Serializer;
use serde::de::Error as _;
use std::fmt;
use std::str::FromStr;
use thiserror::Error;

/// A text or number that is no moment.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum StampError {
    /// A text that is no moment with an offset.
    #[error(
        "\"{0}\" is no moment: write date, hour and offset from universal time, such as 2026-11-26T06:00:00+07:00"
    )]
    Text(String),
    /// Numbers outside the calendar.
    #[error("{utc_ms} ms with an offset of {offset_min} min lies outside the calendar")]
    Range {
        /// Milliseconds since 1970 in universal time.
        utc_ms: i64,
        /// Minutes ahead of universal time.
        offset_min: i64,
    },
}

/// A moment to the millisecond with the offset of the clock it was read on; printed as
/// `2026-11-26T06:00:00.000+07:00`. Ordered by the moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Stamp {
    utc_ms: i64,
    offset_min: i16,
}

impl Stamp {
    /// The beginning of 1970 in universal time.
    pub const EPOCH: Self = Self {
        utc_ms: 0,
        offset_min: 0,
    };

    /// A moment from milliseconds since 1970 in universal time, and minutes ahead of it.
    ///
    /// # Errors
    /// [`StampError::Range`] outside the years -9999 to 9999 or 26 hours.
    pub fn new(utc_ms: i64, offset_min: i64) -> Result<Self, StampError> {
        let wrong = || StampError::Range { utc_ms, offset_min };
        let minutes = i16::try_from(offset_min).ok().ok_or_else(wrong)?;
        let at = Timestamp::from_millisecond(utc_ms).ok().ok_or_else(wrong)?;
        let offset = Offset::from_seconds(i32::from(minutes) * 60)
            .ok()
            .filter(|_| minutes.abs() < 26 * 60)
            .ok_or_else(wrong)?;
        // The civil date must lie within the calendar as well.
        if !(-9998..=9998).contains(&offset.to_datetime(at).year()) {
            return Err(wrong());
        }
        Ok(Self {
            utc_ms,
            offset_min: minutes,
        })
    }

    /// Milliseconds since 1970 in universal time.
    pub const fn utc_ms(self) -> i64 {
        self.utc_ms
    }

    /// Minutes that the clock is ahead of universal time.
    pub const fn offset_min(self) -> i64 {
        self.offset_min as i64
    }

    /// The date on its own clock, as 2026-11-26.
    pub fn date(self) -> String {
        self.to_string().chars().take(10).collect()
    }

    /// Date and hour on its own clock, as 2026-11-26 06:00.
    pub fn date_and_hour(self) -> String {
        let text = self.to_string();
        format!(
            "{} {}",
            text.get(..10).unwrap_or_default(),
            text.get(11..16).unwrap_or_default()
        )
    }

    /// The moment some days later on the same clock; absent beyond the calendar.
    pub fn later(self, days: f64) -> Option<Self> {
        let by = days * 86_400_000.0;
        (by.is_finite() && by.abs() < 1e15)
            .then(|| Self::new(self.utc_ms + by.round() as i64, self.offset_min()).ok())?
    }
}

impl fmt::Display for Stamp {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let at = Timestamp::from_millisecond(self.utc_ms).unwrap_or_default();
        let offset = Offset::from_seconds(i32::from(self.offset_min) * 60).unwrap_or(Offset::UTC);
        let civil = offset.to_datetime(at);
        let minutes = self.offset_min;
        let sign = if minutes < 0 { '-' } else { '+' };
        let (hours, rest) = (minutes.abs() / 60, minutes.abs() % 60);
        write!(
            f,
            "{}T{:02}:{:02}:{:02}.{:03}{sign}{hours:02}:{rest:02}",
            civil.date(),
            civil.hour(),
            civil.minute(),
            civil.second(),
            civil.millisecond()
        )
    }
}

impl FromStr for Stamp {
    type Err = StampError;

    fn from_str(text: &str) -> Result<Self, StampError> {
        let wrong = || StampError::Text(text.to_owned());
        let pieces = Pieces::parse(text.trim()).ok().ok_or_else(wrong)?;
        let offset = pieces.to_numeric_offset().ok_or_else(wrong)?;
        let time = pieces.time().ok_or_else(wrong)?;
        let civil = pieces.date().to_datetime(time);
        let at = offset.to_timestamp(civil).ok().ok_or_else(wrong)?;
        let seconds = offset.seconds();
        (seconds % 60 == 0)
            .then(|| Self::new(at.as_millisecond(), i64::from(seconds / 60)).ok())
            .flatten()
            .ok_or_else(wrong)
    }
}

impl Serialize for Stamp {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Stamp {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        text.parse().map_err(D::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stamps_come_back_as_they_were_written() {
        for text in [
            "2026-11-26T06:00:00.000+07:00",
            "1969-12-31T23:59:59.999-03:30",
            "2026-03-01T00:00:00.001+00:00",
        ] {
            let stamp: Stamp = text.parse().unwrap();
            assert_eq!(stamp.to_string(), text);
            assert_eq!(Stamp::new(stamp.utc_ms(), stamp.offset_min()), Ok(stamp));
        }
        let short: Stamp = "2026-11-26T06:00+07:00".parse().unwrap();
        assert_eq!(short.date_and_hour(), "2026-11-26 06:00");
        for bad in ["", "26/11/2026", "2026-11-26T06:00", "2026-13-01T00:00Z"] {
            assert!(bad.parse::<Stamp>().is_err(), "{bad}");
        }
        assert!(Stamp::new(i64::MAX, 0).is_err());
        assert!(Stamp::new(0, 99_999).is_err());
        assert_eq!(
            short.later(0.5).unwrap().date_and_hour(),
            "2026-11-26 18:00"
        );
        assert_eq!(short.later(f64::NAN), None);
    }
}
