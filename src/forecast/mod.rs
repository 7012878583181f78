//! The tally carried forward night by night.
//!
//! Times are days from the netting; a night is counted by the hour at which its moults stand. No
//! date, zone or clock is known here.

mod clock;
mod fates;
mod outlook;
mod own_cycle;
mod settings;
mod spans;

pub use crate::forecast::clock::ClockError;
pub use crate::forecast::clock::DAWN_HOUR;
pub use crate::forecast::clock::DUSK_HOUR;
pub use crate::forecast::clock::MOULT_HOUR;
pub use crate::forecast::clock::NightClock;
pub use crate::forecast::fates::Fates;
pub use crate::forecast::fates::StageTable;
pub use crate::forecast::outlook::Band;
pub use crate::forecast::outlook::Group;
pub use crate::forecast::outlook::Hour;
pub use crate::forecast::outlook::Outlook;
pub use crate::forecast::outlook::Standing;
pub use crate::forecast::own_cycle::DatedCounts;
pub use crate::forecast::own_cycle::OwnCycle;
pub use crate::forecast::own_cycle::OwnCycleRefusal;
pub use crate::forecast::own_cycle::SeriesError;
pub use crate::forecast::own_cycle::own_cycle;
pub use crate::forecast::settings::Spreads;
pub use crate::forecast::settings::SpreadsError;
pub use crate::forecast::settings::moult_hour_assumed;
pub use crate::forecast::spans::Span;
pub(crate) use crate::forecast::spans::nights_between;

use crate::cycle::arcs::StageArcs;
use crate::forecast::settings::WIDE_CV;
use crate::forecast::spans::Look;
use crate::statistics::gamma::UnitGamma;
use crate::tally::Doubt;
use crate::tally::Settings;
use crate::tally::Tally;
use crate::tally::fewest_to_clear;
use crate::units::Days;
use crate::units::Probability;
use thiserror::Error;

/// Nights that are forecast at most.
pub const MOST_NIGHTS: usize = 60;

/// What a forecast starts from.
#[derive(Debug, Clone)]
pub struct Start<'a> {
    /// The tally at the netting.
    pub tally: &'a Tally,
    /// Groups, limits and confidence.
    pub settings: &'a Settings,
    /// Arcs of the stages.
    pub arcs: &'a StageArcs,
    /// Mean length of the cycle, the wait for the night included.
    pub cycle: Days,
    /// Factor on the cycle for water one degree warmer; 1 when the temperature has no effect.
    pub stretch_per_degree: f64,
    /// Spreads between animals, of the mean cycle and of the water.
    pub spreads: Spreads,
    /// Nights and the pace of the water.
    pub clock: NightClock,
    /// Nights to forecast; more than [`MOST_NIGHTS`] are cut.
    pub nights: usize,
    /// When gates would be opened, in days from the netting (their clock hour counts), and how long
    /// a drain lasts.
    pub drain: Drain,
}

/// A drain: when its gates open and how long it lasts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drain {
    /// Days from the netting to the opening of the gates.
    pub opens: Days,
    /// How long it lasts.
    pub lasts: Days,
}

/// Why there is no forecast.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum ForecastError {
    /// No animal was called.
    #[error("no animal was called, so there is nothing to carry forward: call some animals first")]
    NothingCalled,
    /// A spread out of range.
    #[error(transparent)]
    Spreads(#[from] SpreadsError),
    /// A drain that ends before it starts.
    #[error(
        "a drain that lasts {0} days ends before it starts: give a length above 0 and up to 10 days"
    )]
    DrainLength(f64),
    /// A drain that starts before the netting.
    #[error(
        "the drain would start {0:.2} days before the netting: give a later start, or the tally that was netted before it"
    )]
    DrainBeforeNetting(f64),
}

/// One night and the morning after it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Night {
    /// 1 is the night that follows the netting.
    pub night: usize,
    /// Days from the netting at which the shares hold.
    pub elapsed: Days,
    /// Share of soft animals.
    pub soft: Band,
    /// Share of moulting animals.
    pub moulting: Band,
    /// Share of animals about to moult.
    pub due: Band,
    /// Share of animals soft in the hand; absent when no shell was felt.
    pub soft_in_hand: Option<Band>,
    /// Expected soft share if falling water set off every animal about to moult.
    pub pessimistic_soft: f64,
    /// Says whether all expected shares lie below their limits.
    pub within_expected: bool,
    /// Says whether every limit is shown to be kept.
    pub within_confident: bool,
}

/// Why no span is named.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoSpan {
    /// Even the expected shares stay at or over a limit somewhere in every drain of this cycle.
    NoneExpected,
    /// Expected, but too few animals were called to show it: so many at least.
    TooFewAnimals {
        /// Animals called.
        called: u64,
        /// Animals needed when none of them counts.
        fewest: u64,
    },
    /// Expected, but the band reaches over a limit.
    BandTooWide,
}

/// What to be careful about.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ForecastWarning {
    /// The lowest night within a cycle is no better than the netting by more than the band.
    WaitingGainsNothing {
        /// Expected soft share at the netting.
        at_netting: f64,
        /// The lowest expected soft share.
        lowest: f64,
    },
    /// With animals as different as a cv of 0.20 the expected span is gone or other.
    DiesWithWiderSpread,
    /// Some were netted and not called.
    Unread(u64),
    /// So many are soft in the hand though firm under the microscope: they count as soft in hand at
    /// every hour, since no moult will end it.
    SoftInHand(u64),
    /// The sample cannot clear a pond.
    Doubt(Doubt),
    /// A pond that moults evenly has so large a part in the soft group at every hour that it never
    /// meets the limit; and no span is expected.
    EvenPond {
        /// Share of the soft group in an even pond.
        even_soft: f64,
        /// The limit on soft.
        limit: f64,
    },
}

/// The tally carried forward.
#[derive(Debug, Clone, PartialEq)]
pub struct Forecast {
    /// The nights.
    pub nights: Vec<Night>,
    /// When gates may open and the drain be over, by the expected shares.
    pub expected_span: Option<Span>,
    /// The same, with every limit shown to be kept.
    pub confident_span: Option<Span>,
    /// Why a span is missing.
    pub no_span: Option<NoSpan>,
    /// What to be careful about.
    pub warnings: Vec<ForecastWarning>,
}

/// Carries a tally forward.
///
/// # Errors
/// [`ForecastError`] when nothing was called, or a spread or the drain cannot be.
pub fn forecast(start: &Start<'_>) -> Result<Forecast, ForecastError> {
    check(start)?;
    let law = start.spreads.law()?;
    let outlook = start.outlook(&law, &start.cycles());
    let nights: Vec<Night> = (1..=start.nights.min(MOST_NIGHTS))
        .map(|night| night_of(start, &outlook, night))
        .collect();
    let days = spans::look_ahead(start, |e| look(start, &outlook, &outlook.tables(e)));
    let expected_span = spans::find(start, &days, |look| look.expected);
    let confident_span = spans::find(start, &days, |look| look.confident);
    let mut warnings = Vec::new();
    warnings
        .extend((start.tally.unread > 0).then_some(ForecastWarning::Unread(start.tally.unread)));
    warnings.extend(
        (start.tally.health_flags > 0)
            .then_some(ForecastWarning::SoftInHand(start.tally.health_flags)),
    );
    warnings.extend(
        start
            .tally
            .doubts
            .iter()
            .copied()
            .map(ForecastWarning::Doubt),
    );
    warnings.extend(waiting_gains_nothing(start, &outlook, &nights));
    let (even_soft, limit) = (start.tally.even_soft, start.settings.soft_limit.get());
    warnings.extend(
        (expected_span.is_none() && even_soft >= limit)
            .then_some(ForecastWarning::EvenPond { even_soft, limit }),
    );
    if expected_span.is_some() && start.spreads.animals < WIDE_CV {
        let animals = WIDE_CV;
        let wide = Spreads {
            animals,
            ..start.spreads
        }
        .law()?;
        let outlook = start.outlook(&wide, &[start.cycle.get()]);
        let days = spans::look_ahead(start, |e| look(start, &outlook, &outlook.tables(e)));
        let other = spans::find(start, &days, |look| look.expected);
        let meets = |a: Span, b: Span| a.opens < b.drained_by && b.opens < a.drained_by;
        let dies = !other.zip(expected_span).is_some_and(|(a, b)| meets(a, b));
        warnings.extend(dies.then_some(ForecastWarning::DiesWithWiderSpread));
    }
    Ok(Forecast {
        no_span: no_span(start, expected_span, confident_span),
        nights,
        expected_span,
        confident_span,
        warnings,
    })
}

impl Start<'_> {
    /// The equally likely mean cycles, in days.
    pub fn cycles(&self) -> Vec<f64> {
        let factors = self.spreads.cycle_factors(self.stretch_per_degree);
        factors
            .iter()
            .map(|factor| factor * self.cycle.get())
            .collect()
    }

    /// The distribution of a cycle about its mean.
    ///
    /// # Errors
    /// [`SpreadsError`] for a spread out of range.
    pub fn law(&self) -> Result<UnitGamma, SpreadsError> {
        self.spreads.law()
    }

    /// The called animals and all that carries them forward.
    pub fn outlook<'b>(&'b self, law: &'b UnitGamma, cycles: &[f64]) -> Outlook<'b> {
        let last = self.horizon().max(self.nights.min(MOST_NIGHTS) as f64) as usize + 2;
        Outlook::new(
            self.tally,
            self.settings,
            self.arcs,
            (law, &self.clock),
            (cycles, last),
        )
    }

    /// The last time for which anything is said, in days from the netting: one cycle.
    pub const fn horizon(&self) -> f64 {
        self.cycle.get()
    }
}

/// The fewest animals that can show every limit kept, with none in any group; absent where no number
/// can.
pub(crate) fn fewest_for_all(start: &Start<'_>) -> Option<u64> {
    let settings = start.settings;
    let one = |group: Group| {
        let limit = Probability::clamped(group.limit(settings));
        fewest_to_clear(limit, settings.confidence, settings.design_effect)
    };
    Group::ALL.into_iter().filter_map(one).max()
}

fn check(start: &Start<'_>) -> Result<(), ForecastError> {
    if start.tally.called == 0 {
        return Err(ForecastError::NothingCalled);
    }
    start.drain.checked()
}

impl Drain {
    /// Checks that the drain starts after the netting and ends after it starts.
    ///
    /// # Errors
    /// [`ForecastError`] when it does not.
    pub fn checked(self) -> Result<(), ForecastError> {
        let (opens, lasts) = (self.opens.get(), self.lasts.get());
        if !(lasts > 0.0 && lasts <= 10.0) {
            return Err(ForecastError::DrainLength(lasts));
        }
        if opens.is_nan() || opens < 0.0 {
            return Err(ForecastError::DrainBeforeNetting(-opens));
        }
        Ok(())
    }
}

fn night_of(start: &Start<'_>, outlook: &Outlook<'_>, night: usize) -> Night {
    let e = night as f64;
    let tables = outlook.tables(e);
    let look = look(start, outlook, &tables);
    Night {
        night,
        elapsed: Days::new(e),
        soft: outlook.band(&tables, Group::Soft),
        moulting: outlook.band(&tables, Group::Moulting),
        due: outlook.band(&tables, Group::Due),
        soft_in_hand: start
            .tally
            .soft_in_hand
            .as_ref()
            .map(|_| outlook.band(&tables, Group::SoftInHand)),
        pessimistic_soft: outlook.pessimistic_soft(&tables),
        within_expected: look.expected,
        within_confident: look.confident,
    }
}

fn look(start: &Start<'_>, outlook: &Outlook<'_>, tables: &Hour) -> Look {
    let mut look = Look {
        expected: true,
        confident: start.tally.doubts.is_empty(),
    };
    for group in outlook.groups() {
        let (expected, confident) = outlook.keeps(tables, group, look.confident);
        look.expected &= expected;
        look.confident &= confident;
    }
    look
}

/// Compares the lowest night within a cycle with the hour of netting, by half the band of that night.
fn waiting_gains_nothing(
    start: &Start<'_>,
    outlook: &Outlook<'_>,
    nights: &[Night],
) -> Option<ForecastWarning> {
    let at_netting = outlook.standing(&outlook.tables(0.0), Group::Soft).expected;
    let within_cycle = nights.iter().filter(|n| n.elapsed.get() <= start.horizon());
    let lowest = within_cycle.min_by(|a, b| a.soft.expected.total_cmp(&b.soft.expected))?;
    let band = 0.5 * (lowest.soft.high - lowest.soft.low);
    let gains = at_netting - lowest.soft.expected > band;
    let lowest = lowest.soft.expected;
    (!gains).then_some(ForecastWarning::WaitingGainsNothing { at_netting, lowest })
}

fn no_span(start: &Start<'_>, expected: Option<Span>, confident: Option<Span>) -> Option<NoSpan> {
    if confident.is_some() {
        return None;
    }
    let fewest = fewest_for_all(start);
    let called = start.tally.called;
    Some(match fewest {
        _ if expected.is_none() => NoSpan::NoneExpected,
        Some(fewest) if called < fewest => NoSpan::TooFewAnimals { called, fewest },
        _ => NoSpan::BandTooWide,
    })
}
