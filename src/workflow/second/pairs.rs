//! What two readings of one animal say: disagreements to be settled, how far readers agree, and the
//! slides of known truth among them.
//!
//! Agreement is not error. The errors of a reader come only from slides whose stage is known: from
//! known days since a moult that was seen, or from a blind second call that said the same or was
//! settled; these were chosen, and each is weighted for it.

use crate::decision::reader_error::KnownSlide;
use crate::logbook::View;
use crate::moult::Stage;
use crate::records::decisions::Call;
use crate::records::decisions::Label;
use crate::records::decisions::SecondCall;
use crate::records::decisions::Settlement;
use crate::records::ids::AnimalId;
use crate::records::ids::RowId;
use crate::records::ids::SecondCallId;
use crate::records::ids::ThingId as _;
use crate::records::rounds::BlindRound;
use crate::records::stamp::Stamp;
use crate::records::table::Kept;
use crate::records::words::Chosen;
use crate::records::words::Evidence;
use crate::tally::Settings;
use crate::workflow::agreeing::PairAgreement;
use crate::workflow::agreeing::pair_agreement;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::SessionError;
use crate::workflow::second::error::SecondError;
use crate::workflow::second::rounds::same_person;
use serde::Serialize;
use std::collections::BTreeMap;
use std::collections::BTreeSet;

/// Two calls of one animal that do not know of each other.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PairedCall {
    /// The animal.
    pub animal: AnimalId,
    /// The second call.
    pub second_call: SecondCallId,
    /// Who called first.
    pub first_reader: String,
    /// Who called second.
    pub second_reader: String,
    /// The first call; absent when unread.
    pub first: Option<Stage>,
    /// The second call; absent when unread.
    pub second: Option<Stage>,
    /// When the second call was made.
    pub called: Stamp,
    /// In which round, by its position, and why it was chosen; absent for a second call without a
    /// round.
    pub round: Option<(usize, Chosen)>,
    /// What stands since it was settled; absent when it was not settled.
    pub settled: Option<Option<Stage>>,
}

impl PairedCall {
    /// Whether both said the same; D4 counts with D3.
    pub fn agrees(&self) -> bool {
        self.first.map(folded) == self.second.map(folded)
    }

    /// The stage that is known by this pair: what both said, or what was settled.
    pub fn truth(&self) -> Option<Stage> {
        match self.settled {
            Some(stands) => stands,
            None if self.agrees() => self.first,
            None => None,
        }
    }
}

/// A disagreement that waits to be settled.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Disagreement {
    /// The two calls.
    pub pair: PairedCall,
    /// Whether they differ on soft.
    pub on_soft: bool,
    /// Whether they differ on due.
    pub on_due: bool,
}

/// How a pair of readers agreed in one month.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct MonthOfPair {
    /// The month, such as 2026-11.
    pub month: String,
    /// Slides that both called.
    pub slides: u64,
    /// Called alike.
    pub alike: u64,
    /// Called apart on soft.
    pub soft_apart: u64,
    /// Called apart on due.
    pub due_apart: u64,
}

/// How a pair of readers agrees.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PairOfReaders {
    /// The figures over all slides that both called.
    pub agreement: PairAgreement,
    /// Slides that one called and the other left unread.
    pub unread_apart: u64,
    /// Share called alike as it would be over all slides of the daily work, marked ones and clear
    /// ones in their numbers; absent without a round.
    pub alike_in_daily_work: Option<f64>,
    /// The same by month.
    pub months: Vec<MonthOfPair>,
}

/// Slides of known truth for some readers, weighted for why they were chosen.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct KnownTruth {
    /// The slides.
    pub slides: Vec<KnownSlide>,
    /// Known by days since a moult that was seen.
    pub by_days: usize,
    /// Known by a blind second call that said the same.
    pub by_agreeing: usize,
    /// Known by settling.
    pub by_settling: usize,
}

/// Least slides of known truth that are allowed to worsen a verdict.
///
/// # Source
/// Our choice: under it the few slides, not the reader, would decide.
pub const LEAST_SLIDES: usize = 30;
/// Least slides truly inside and truly outside of soft and of due among them.
///
/// # Source
/// Our choice.
pub const LEAST_OF_GROUP: usize = 5;

impl KnownTruth {
    /// Whether the slides are enough to be held against a tally.
    pub fn is_enough(&self, settings: &Settings) -> bool {
        let of = |group: &BTreeSet<Stage>| {
            let inside = self.slides.iter().filter(|s| group.contains(&s.truth));
            let inside = inside.count();
            inside.min(self.slides.len() - inside) >= LEAST_OF_GROUP
        };
        self.slides.len() >= LEAST_SLIDES && of(&settings.soft) && of(&settings.due)
    }
}

impl Session {
    /// Every second call beside the first call that it was blind to.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn paired_calls(&self) -> Result<Vec<PairedCall>, SessionError> {
        self.see(|view| {
            let seconds = view.all::<SecondCall>()?;
            if seconds.is_empty() {
                return Ok(Vec::new());
            }
            let rounds = view.all::<BlindRound>()?;
            let settlements = view.all::<Settlement>()?;
            let settling: BTreeSet<RowId> = settlements.iter().map(|s| s.body.call).collect();
            let mut pairs = Vec::with_capacity(seconds.len());
            for second in seconds {
                let slide = slide_of(&rounds, &second.body);
                let first = match slide {
                    Some((_, _, call)) => Some(view.row::<Call>(call)?.body),
                    None => first_call(view, &second.body, &settling)?,
                };
                let Some(first) = first else { continue };
                let used = Some(second.thing().row());
                let stands = settlements.iter().rfind(|s| s.body.second_call == used);
                let stands = stands.map(|s| view.row::<Call>(s.body.call)).transpose()?;
                pairs.push(PairedCall {
                    animal: second.body.animal,
                    second_call: second.thing(),
                    first_reader: first.reader,
                    second_reader: second.body.reader.clone(),
                    first: first.stage,
                    second: second.body.stage,
                    called: second.body.called,
                    round: slide.map(|(round, chosen, _)| (round, chosen)),
                    settled: stands.map(|call| call.body.stage),
                });
            }
            Ok(pairs)
        })
    }

    /// The disagreements that wait to be settled, those on soft first, then those on due.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn disagreements(&self) -> Result<Vec<Disagreement>, SessionError> {
        let limits = self.farm_limits()?;
        let apart = |group: &BTreeSet<Stage>, pair: &PairedCall| {
            let inside = |stage: Option<Stage>| stage.is_some_and(|s| group.contains(&s));
            inside(pair.first) != inside(pair.second)
        };
        let open = |pair: &PairedCall| pair.settled.is_none() && !pair.agrees();
        let mut found: Vec<Disagreement> = self
            .paired_calls()?
            .into_iter()
            .filter(open)
            .map(|pair| Disagreement {
                on_soft: apart(&limits.soft, &pair),
                on_due: apart(&limits.due, &pair),
                pair,
            })
            .collect();
        found.sort_by_key(|of| (!of.on_soft, !of.on_due, of.pair.animal));
        Ok(found)
    }

    /// Settles a disagreement between a first and a second call: `stage` stands, the reason is kept.
    /// Gives the row of the call that stands.
    ///
    /// # Errors
    /// [`SecondError::NoReason`] without a reason.
    pub fn settle_second(
        &mut self,
        pair: &PairedCall,
        stage: Option<Stage>,
        because: &str,
    ) -> Result<RowId, SecondError> {
        let because = because.trim();
        if because.is_empty() {
            return Err(SecondError::NoReason);
        }
        Ok(self.settle(pair.animal, stage, Some(pair.second_call), because)?)
    }

    /// How far each pair of readers agrees, over all and by month, in the order of their names.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn readers_agreement(&self) -> Result<Vec<PairOfReaders>, SessionError> {
        let limits = self.farm_limits()?;
        let rounds = self.rounds()?;
        let mut by_pair: BTreeMap<(String, String), Vec<PairedCall>> = BTreeMap::new();
        for pair in self.paired_calls()? {
            let readers = (pair.first_reader.clone(), pair.second_reader.clone());
            by_pair.entry(readers).or_default().push(pair);
        }
        let of = |((first, second), pairs): ((String, String), Vec<PairedCall>)| {
            let called: Vec<(Stage, Stage)> =
                pairs.iter().filter_map(|p| p.first.zip(p.second)).collect();
            let weights = weights(&pairs, &rounds, |_| true);
            let (mut alike, mut all) = (0.0, 0.0);
            for (pair, weight) in pairs.iter().zip(weights) {
                let weight = weight.filter(|_| pair.first.and(pair.second).is_some());
                all += weight.unwrap_or(0.0);
                alike += weight.filter(|_| pair.agrees()).unwrap_or(0.0);
            }
            PairOfReaders {
                agreement: pair_agreement([first, second], &called),
                unread_apart: pairs
                    .iter()
                    .filter(|p| p.first.is_some() != p.second.is_some())
                    .count() as u64,
                alike_in_daily_work: (all > 0.0).then(|| alike / all),
                months: months(&pairs, &limits.soft, &limits.due),
            }
        };
        Ok(by_pair.into_iter().map(of).collect())
    }

    /// The slides of known truth of these readers, pooled, each weighted by how many slides of the
    /// daily work it stands for.
    ///
    /// # Formula
    /// Within a round, marked and clear slides apart: weight = slides there were / slides whose
    /// truth is known. A slide of known days has weight 1.
    ///
    /// # Source
    /// Weighting by the inverse of the chance to be chosen: Horvitz & Thompson 1952 (from memory).
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn known_truth(&self, readers: &BTreeSet<String>) -> Result<KnownTruth, SessionError> {
        let is_one = |name: &str| readers.iter().any(|reader| same_person(reader, name));
        let mut known = KnownTruth::default();
        let labels = self.labels()?;
        let mut by_days = BTreeSet::new();
        let days = |label: &&Kept<Label>| label.body.evidence == Evidence::KnownDays;
        for label in labels.iter().filter(days) {
            if !by_days.insert(label.body.animal) {
                continue;
            }
            for call in self.blind_or_first_calls(label.body.animal)? {
                if let (true, Some(call)) = (is_one(&call.0), call.1) {
                    known.by_days += 1;
                    known.slides.push(KnownSlide {
                        truth: label.body.stage,
                        call,
                        weight: 1.0,
                    });
                }
            }
        }
        let pairs = self.paired_calls()?;
        if pairs.is_empty() {
            return Ok(known);
        }
        let weights = weights(&pairs, &self.rounds()?, |pair| pair.truth().is_some());
        for (pair, weight) in pairs.iter().zip(weights) {
            let (Some(truth), Some(weight)) = (pair.truth(), weight) else {
                continue;
            };
            if by_days.contains(&pair.animal) {
                continue;
            }
            let calls = [
                (&pair.first_reader, pair.first),
                (&pair.second_reader, pair.second),
            ];
            for (reader, call) in calls {
                let Some(call) = call.filter(|_| is_one(reader)) else {
                    continue;
                };
                if pair.settled.is_some() {
                    known.by_settling += 1;
                } else {
                    known.by_agreeing += 1;
                }
                known.slides.push(KnownSlide {
                    truth,
                    call,
                    weight,
                });
            }
        }
        Ok(known)
    }

    /// Each reader's own call of an animal, first or second, before any settling.
    fn blind_or_first_calls(
        &self,
        animal: AnimalId,
    ) -> Result<Vec<(String, Option<Stage>)>, SessionError> {
        let settled = self.settlements_of(animal)?;
        let settling: BTreeSet<RowId> = settled.iter().map(|s| s.body.call).collect();
        let mut calls: BTreeMap<String, Option<Stage>> = BTreeMap::new();
        for call in self.history_of_call(animal)? {
            if !settling.contains(&call.head.id) && !call.head.withdrawn {
                calls.insert(call.body.reader, call.body.stage);
            }
        }
        for call in self.second_calls_of(animal)? {
            calls.entry(call.body.reader).or_insert(call.body.stage);
        }
        Ok(calls.into_iter().collect())
    }
}

/// D4 as D3: by eye they are hardly told apart.
const fn folded(stage: Stage) -> Stage {
    match stage {
        Stage::D4 => Stage::D3,
        other => other,
    }
}

/// The round in which a second call was asked for, why, and the first call it was blind to.
fn slide_of(rounds: &[Kept<BlindRound>], second: &SecondCall) -> Option<(usize, Chosen, RowId)> {
    rounds.iter().enumerate().rev().find_map(|(at, round)| {
        let own = same_person(&round.body.reader, &second.reader);
        let slides = round.body.slides.iter().filter(|_| own);
        let slide = slides.into_iter().find(|s| s.animal == second.animal)?;
        Some((at, slide.chosen, slide.call))
    })
}

/// The call of another reader that stood before anything was settled.
fn first_call(
    view: View<'_>,
    second: &SecondCall,
    settling: &BTreeSet<RowId>,
) -> Result<Option<Call>, crate::logbook::LogbookError> {
    let calls = view.every_row_naming::<Call>("animal", second.animal.row())?;
    let first = calls.into_iter().rfind(|call| {
        !settling.contains(&call.head.id)
            && !call.head.withdrawn
            && !same_person(&call.body.reader, &second.reader)
    });
    Ok(first.map(|call| call.body))
}

/// The weight of each pair that is `wanted`: how many slides of its round, marked or clear, it
/// stands for. None without a round, and for those that are not wanted.
fn weights(
    pairs: &[PairedCall],
    rounds: &[Kept<BlindRound>],
    wanted: impl Fn(&PairedCall) -> bool,
) -> Vec<Option<f64>> {
    let stratum = |pair: &PairedCall| {
        let (round, chosen) = pair.round.filter(|_| wanted(pair))?;
        Some((round, chosen == Chosen::Clear))
    };
    let mut known: BTreeMap<(usize, bool), f64> = BTreeMap::new();
    for of in pairs.iter().filter_map(stratum) {
        *known.entry(of).or_default() += 1.0;
    }
    pairs
        .iter()
        .map(|pair| {
            let of = stratum(pair)?;
            let body = &rounds.get(of.0)?.body;
            let there_were = if of.1 { body.clear } else { body.marked };
            Some(there_were as f64 / known.get(&of)?)
        })
        .collect()
}

fn months(pairs: &[PairedCall], soft: &BTreeSet<Stage>, due: &BTreeSet<Stage>) -> Vec<MonthOfPair> {
    let mut months: BTreeMap<String, MonthOfPair> = BTreeMap::new();
    for pair in pairs {
        let Some((first, second)) = pair.first.zip(pair.second) else {
            continue;
        };
        let month: String = pair.called.date().chars().take(7).collect();
        let of = months.entry(month.clone()).or_insert(MonthOfPair {
            month,
            slides: 0,
            alike: 0,
            soft_apart: 0,
            due_apart: 0,
        });
        let apart = |group: &BTreeSet<Stage>| group.contains(&first) != group.contains(&second);
        of.slides += 1;
        of.alike += u64::from(pair.agrees());
        of.soft_apart += u64::from(apart(soft));
        of.due_apart += u64::from(apart(due));
    }
    months.into_values().collect()
}
