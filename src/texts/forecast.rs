//! The forecast in words.

use crate::cycle::length::LengthWarning;
use crate::decision::verdict::Reason;
use crate::forecast::ForecastWarning;
use crate::forecast::Group;
use crate::forecast::NoSpan;
use crate::tally::Tested;
use crate::texts::scores::percent;
use crate::texts::tally::doubt;
use crate::units::Days;

/// The sentence that ends every forecast.
pub const LAST_SENTENCE: &str = "Net again the day before; this date only says when.";

/// What a forecast leaves out.
pub const NOT_IN_IT: &str = "This speaks of moulting only. Just-moulted animals hide and shun the net; falling, \
warming water and other shocks set off moults early; disease, local rules, the discharge permit and the buyer's \
contract are not in it. The farm manager decides.";

/// Head of the table of nights.
pub const NIGHTS_HEAD: &str = "night  morning       soft  (band)          moulting       due   soft if all due moult  \
moon         stands";

/// Head of the table of the value of waiting.
pub const WAITING_HEAD: &str = "night  worth if drained then    against now";

/// The cycle in a line.
pub fn cycle(days: f64, cv: f64) -> String {
    format!(
        "Cycle {days:.1} days from moult to moult, animals differing by {:.0} % (cv)",
        100.0 * cv
    )
}

/// What the known errors of the reader do to the bands, with their drawing error.
pub fn reader(slides: u64, draws: usize) -> String {
    let error = (0.09 / draws as f64).sqrt();
    format!(
        "Reader's known errors ({slides} slides of known truth) are in the upper edges and the verdict, by \
         {draws} drawn ponds: a probability near 10 % is right within {:.0} %.",
        100.0 * error
    )
}

/// A moment as people write it: 2026-11-27 04:00 (+07:00).
pub fn moment(text: &str) -> String {
    let Some((date, rest)) = text.split_once('T') else {
        return text.to_owned();
    };
    let (time, offset) = rest.split_at(rest.len().min(5));
    format!("{date} {time} ({offset})")
}

/// The worst soft share of a drain, and if falling water set off the animals about to moult.
pub fn worst(soft: f64, pessimistic: f64) -> String {
    format!(
        "Soft at worst: {} expected; {} if falling water sets off every due animal.",
        percent(soft),
        percent(pessimistic)
    )
}

/// How the morning after a night stands: whether within is shown, or expected, or which groups are
/// expected at or over their limits.
pub fn stands((confident, expected): (bool, bool), over: &[&str]) -> String {
    if confident {
        "within, confident".to_owned()
    } else if expected {
        "within, expected".to_owned()
    } else if over.is_empty() {
        "over".to_owned()
    } else {
        format!("over: {}", over.join(", "))
    }
}

/// The lit part of the moon, growing or not; shown, never used.
pub fn moon(lit: Option<f64>, waxing: Option<bool>) -> String {
    let Some(lit) = lit else {
        return "-".to_owned();
    };
    let way = match waxing {
        Some(true) => "waxing",
        Some(false) => "waning",
        None => "",
    };
    format!("{:>3.0} % {way}", 100.0 * lit)
}

/// What the value of waiting leaves out.
pub const STEPWISE: &str = "Growth is stepwise, at the moult; here it is a mean per day. All numbers \
are the farm's own.";

/// Why no span is named.
pub fn no_span(why: &NoSpan) -> String {
    match why {
        NoSpan::NoneExpected => {
            "within one cycle no span long enough for the drain keeps even the expected shares \
             under all limits"
                .to_owned()
        }
        NoSpan::TooFewAnimals { called, fewest } => format!(
            "too few animals for a confident span: {called} called, and it takes {fewest} with \
             none in the group to show the strictest limit kept"
        ),
        NoSpan::BandTooWide => {
            "no confident span: the upper edge of a band reaches a limit in every span long enough \
             for the drain"
                .to_owned()
        }
    }
}

/// What to be careful about.
pub fn warning(warning: &ForecastWarning) -> String {
    match warning {
        ForecastWarning::WaitingGainsNothing { at_netting, lowest } => format!(
            "waiting gains nothing: the lowest night of this cycle ({} soft) is no better than the \
             netting ({}) by more than the band",
            percent(*lowest),
            percent(*at_netting)
        ),
        ForecastWarning::DiesWithWiderSpread => {
            "with animals as different as a cv of 0.20 the expected span is gone".to_owned()
        }
        ForecastWarning::Unread(unread) => format!(
            "{unread} unread: within limits is only said if it holds with them counted as just \
             moulted"
        ),
        ForecastWarning::SoftInHand(flags) => format!(
            "{flags} soft in the hand though C, D0 or D1 under the microscope: no moult will end that, \
             so they count as soft in hand at every hour; ask the animal-health professional"
        ),
        ForecastWarning::Doubt(why) => doubt(*why).to_owned(),
        ForecastWarning::EvenPond { even_soft, limit } => format!(
            "a pond that moults evenly has {} in the soft stages at every hour and never meets a limit of \
             {}: it takes a trough between two waves, or a shorter time until shells count as rigid \
             (the moulting share beside it is A and E alone)",
            percent(*even_soft),
            percent(*limit)
        ),
    }
}

/// A length of the cycle outside what was measured.
pub fn length_warning(warning: &LengthWarning) -> String {
    match warning {
        LengthWarning::Weight(grams) => format!(
            "the cycle was not measured at {grams} g: its length is carried on from other weights"
        ),
        LengthWarning::AdultsOnly(species) => {
            format!("{species} was measured on adults only: the weight is not used")
        }
        LengthWarning::Cool(celsius) => format!(
            "nothing was measured at {celsius} °C: the effect of the temperature is carried on \
             below 27 °C"
        ),
        LengthWarning::Warm(celsius) => format!(
            "at {celsius} °C the cycle slows down again: the length at 32 °C is used, which is too \
             short"
        ),
    }
}

/// Why a verdict is what it is; `when` prints a time from the netting.
pub fn reason(reason: &Reason, when: impl Fn(Days) -> String) -> String {
    match reason {
        Reason::At {
            group,
            elapsed,
            expected,
            tested,
        } => format!(
            "{} {} at {}: {} expected",
            group_name(*group),
            standing(*tested),
            when(*elapsed),
            percent(*expected)
        ),
        Reason::Doubt(why) => doubt(*why).to_owned(),
        Reason::FewAnimals { called, fewest } => format!(
            "{called} animals can warn but not clear: it takes {fewest} with none in any group to show \
             every limit kept"
        ),
        Reason::BeyondOneCycle => {
            "the drain ends more than one cycle after the netting: net again nearer to it"
                .to_owned()
        }
        Reason::AllWithin => {
            "every limit is shown to be kept from the start to the end of the drain".to_owned()
        }
    }
}

/// The name of a group.
pub const fn group_name(group: Group) -> &'static str {
    match group {
        Group::Soft => "soft",
        Group::Moulting => "moulting",
        Group::Due => "due",
        Group::SoftInHand => "soft in hand",
    }
}

const fn standing(tested: Tested) -> &'static str {
    match tested {
        Tested::Within => "within its limit",
        Tested::Open => "not shown to be under its limit",
        Tested::Over => "over its limit",
    }
}
