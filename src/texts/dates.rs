//! Dates and hours as people write them.

const MONTHS: [&str; 12] = [
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
];

/// A date and hour on the pond's clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Civil {
    /// Year.
    pub year: u16,
    /// Month, 1 to 12.
    pub month: u8,
    /// Day of the month.
    pub day: u8,
    /// Hour, 0 to 23.
    pub hour: u8,
    /// Minute.
    pub minute: u8,
    /// The clock's distance from universal time, in minutes.
    pub offset_minutes: i32,
}

/// Day and month, which no line break parts: "27 Nov".
pub fn day(at: Civil) -> String {
    let month = usize::from(at.month).wrapping_sub(1);
    let name = MONTHS.get(month).copied().unwrap_or("?");
    format!("{}\u{a0}{name}", at.day)
}

/// Day, month and hour: "27 Nov 04:00".
pub fn day_and_hour(at: Civil) -> String {
    format!("{}\u{a0}{:02}:{:02}", day(at), at.hour, at.minute)
}

/// All of it: "26 Nov 2026 06:00 (UTC+07:00)".
pub fn whole(at: Civil) -> String {
    let sign = if at.offset_minutes < 0 { '-' } else { '+' };
    let minutes = at.offset_minutes.abs();
    format!(
        "{} {} {:02}:{:02} (UTC{sign}{:02}:{:02})",
        day(at),
        at.year,
        at.hour,
        at.minute,
        minutes / 60,
        minutes % 60
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_name_the_month_and_the_clock() {
        let at = Civil {
            year: 2026,
            month: 11,
            day: 7,
            hour: 4,
            minute: 5,
            offset_minutes: -210,
        };
        assert_eq!(day_and_hour(at), "7\u{a0}Nov\u{a0}04:05");
        assert_eq!(whole(at), "7\u{a0}Nov 2026 04:05 (UTC-03:30)");
    }
}
