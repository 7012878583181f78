//! Drift: how often readers changed what the program proposed. Only animals that were called before
//! their proposal was shown count; the others were looked at with the answer in view.

use crate::logbook::LogbookError;
use crate::logbook::View;
use crate::moult::Stage;
use crate::records::decisions::Call;
use crate::records::ids::MicroscopeId;
use crate::records::ids::ThingId as _;
use crate::records::pictures::Microscope;
use crate::records::pictures::Photo;
use crate::records::stamp::Stamp;
use crate::records::words::Agreement;
use crate::statistics::Interval;
use crate::statistics::binomial::Count;
use crate::statistics::binomial::wilson;
use crate::units::Probability;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::SessionError;
use std::collections::BTreeMap;

/// Days that count as the last months.
pub const RECENT_DAYS: f64 = 90.0;

/// Calls before the proposal, and how many of them differ from it.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Changed {
    /// Calls.
    pub calls: u64,
    /// Calls of another stage than proposed.
    pub changed: u64,
}

impl Changed {
    fn add(&mut self, changed: bool) {
        self.calls += 1;
        self.changed += u64::from(changed);
    }

    /// The share that was changed, with its 95 % Wilson interval; absent without calls.
    pub fn share(self) -> Option<(f64, Interval)> {
        let count = Count::capped(self.changed, self.calls);
        let around = wilson(count, Probability::clamped(0.95));
        Some((count.share()?.get(), around))
    }
}

/// How often proposals were changed.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Drift {
    /// In the last months.
    pub recent: Changed,
    /// Before that.
    pub earlier: Changed,
    /// In the last months, by the stage that was proposed.
    pub by_stage: BTreeMap<Stage, Changed>,
    /// In the last months, by the microscope; by an empty name where none was noted.
    pub by_microscope: BTreeMap<String, Changed>,
}

/// Counts changes up to `now`.
///
/// # Errors
/// [`SessionError`] for a logbook that cannot be read.
pub fn drift(session: &Session, now: Stamp) -> Result<Drift, SessionError> {
    let since = now.later(-RECENT_DAYS);
    session.see(|view| {
        let mut drift = Drift::default();
        let names: BTreeMap<MicroscopeId, String> = view
            .all::<Microscope>()?
            .into_iter()
            .map(|kept| (kept.thing(), kept.body.name))
            .collect();
        for call in view.all::<Call>()? {
            let call = call.body;
            let (true, Some(proposal)) = (call.before_proposal, call.proposal) else {
                continue;
            };
            if call.stage.is_none() {
                continue;
            }
            let changed = call.agreement == Agreement::Changed;
            if since.is_some_and(|since| call.called < since) {
                drift.earlier.add(changed);
                continue;
            }
            drift.recent.add(changed);
            drift.by_stage.entry(proposal).or_default().add(changed);
            let name = microscope(view, &call, &names)?;
            drift.by_microscope.entry(name).or_default().add(changed);
        }
        Ok(drift)
    })
}

/// The microscope of an animal's first photo.
fn microscope(
    view: View<'_>,
    call: &Call,
    names: &BTreeMap<MicroscopeId, String>,
) -> Result<String, LogbookError> {
    let photos = view.naming::<Photo>("animal", call.animal.row())?;
    let profile = photos.iter().find_map(|photo| photo.body.microscope);
    Ok(profile
        .and_then(|id| names.get(&id).cloned())
        .unwrap_or_default())
}
