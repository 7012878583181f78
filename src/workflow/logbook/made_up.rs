//! The logbook of a made-up farm: four ponds with their past, and this morning's sample.
//!
//! All of it is marked as made up, in the names and in the notes.

use crate::cycle::arcs::StageArcs;
use crate::logbook::Change;
use crate::logbook::LogbookError;
use crate::moult::Shell;
use crate::moult::Stage;
use crate::records::Reading;
use crate::records::decisions::SecondCall;
use crate::records::decisions::Settlement;
use crate::records::farm::Reader;
use crate::records::ids::MicroscopeId;
use crate::records::ids::PondId;
use crate::records::ids::SampleId;
use crate::records::ids::ThingId as _;
use crate::records::pictures::KeptReading;
use crate::records::pictures::Microscope;
use crate::records::pictures::Photo;
use crate::records::places::Animal;
use crate::records::places::Outcome;
use crate::records::places::Pond;
use crate::records::places::Sample;
use crate::records::places::VerdictGiven;
use crate::records::stamp::Stamp;
use crate::records::words::ActionKind;
use crate::records::words::Branch;
use crate::records::words::Keeping;
use crate::records::words::Mount;
use crate::records::words::Site;
use crate::records::words::Unread;
use crate::texts;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::SessionError;
use crate::workflow::logbook::calls::NewCall;
use rand::Rng as _;
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use std::path::Path;
use std::path::PathBuf;

/// The setting that stands in a made-up logbook once it is whole.
pub const MARK: &str = "made_up";
/// Animals netted this morning.
const NETTED: i64 = 26;
/// The first reader of the farm.
const FIRST_READER: &str = "Made-up reader 1";
/// The second reader of the farm.
const SECOND_READER: &str = "Made-up reader 2";
/// Seed of the past samples.
const SEED: u64 = 5;
/// Days before this morning at which each pond was netted.
const PAST: [[f64; 3]; 4] = [
    [32.0, 21.0, 10.0],
    [30.0, 19.0, 9.0],
    [29.0, 20.0, 11.0],
    [33.0, 22.0, 11.0],
];
/// Where the middle of the pond's wave stood in the cycle at each netting, and how wide it was.
const WAVES: [[(f64, f64); 3]; 4] = [
    [(0.35, 0.20), (0.45, 0.15), (0.55, 0.12)],
    [(0.50, 0.28), (0.90, 0.12), (0.40, 0.12)],
    [(0.60, 0.40), (0.60, 0.40), (0.55, 0.40)],
    [(0.75, 0.10), (0.05, 0.12), (0.45, 0.10)],
];

/// One photo of this morning's sample with what was read and called.
#[derive(Debug, Clone)]
pub struct MadeUpAnimal {
    /// Name of the animal.
    pub name: String,
    /// Where it was netted.
    pub station: Option<String>,
    /// The shell as felt.
    pub shell: Option<Shell>,
    /// Its photo.
    pub photo: PathBuf,
    /// What was read in it.
    pub reading: Reading,
    /// What the made-up reader called; absent when unread.
    pub call: Option<Stage>,
}

impl Session {
    /// Makes the logbook of the made-up farm where there is no file yet; the last pond's sample of
    /// this morning holds `animals`, photographed at `um_per_px`. Gives the session and that sample.
    ///
    /// # Errors
    /// [`SessionError`] when the logbook or its photos cannot be written.
    pub fn create_made_up_farm(
        file: &Path,
        animals: &[MadeUpAnimal],
        um_per_px: f64,
    ) -> Result<(Self, SampleId), SessionError> {
        let mut session = Self::create(file, texts::demo::FARM, FIRST_READER)?;
        let morning = this_morning(Self::now());
        let (pond, microscope) = session.act(ActionKind::Demo, None, |change| {
            for name in [FIRST_READER, SECOND_READER] {
                change.add(&Reader {
                    name: name.to_owned(),
                    note: Some(made_up()),
                })?;
            }
            let microscope = change.add(&Microscope {
                name: texts::demo::MICROSCOPE.to_owned(),
                camera: None,
                objective: None,
                um_per_px,
                error_um_per_px: None,
                division_um: None,
                photo_hash: None,
                calibrated: None,
                note: Some(made_up()),
            })?;
            let mut last = None;
            let mut past = Past::new(change, morning);
            for number in 0..PAST.len() {
                last = Some(past.pond(number)?);
            }
            let pond = last.ok_or_else(|| LogbookError::NoTable("pond".to_owned()))?;
            Ok((pond, microscope))
        })?;
        session.give_past_verdicts()?;
        let sample = session.add_morning(pond, microscope, morning, animals, um_per_px)?;
        Ok((session, sample))
    }

    /// Gives each past sample the verdict that its tally earned.
    fn give_past_verdicts(&mut self) -> Result<(), SessionError> {
        let mut verdicts = Vec::new();
        for sample in self.latest_samples(100)? {
            let tally = self.tally(sample.thing())?;
            let answer = serde_json::to_value(tally.at_netting).unwrap_or_default();
            verdicts.push(VerdictGiven {
                sample: sample.thing(),
                answer: answer.as_str().unwrap_or_default().to_owned(),
                said: texts::tally::answer(tally.at_netting).to_owned(),
                harvest_start: None,
                harvest_end: None,
                expires: None,
                details: serde_json::to_value(&tally).ok(),
                program: env!("CARGO_PKG_VERSION").to_owned(),
            });
        }
        self.act(ActionKind::Demo, None, |change| {
            verdicts
                .iter()
                .try_for_each(|given| change.add(given).map(drop))
        })
    }

    /// Adds this morning's sample with its photos, readings and calls.
    fn add_morning(
        &mut self,
        pond: PondId,
        microscope: MicroscopeId,
        netted: Stamp,
        animals: &[MadeUpAnimal],
        um_per_px: f64,
    ) -> Result<SampleId, SessionError> {
        let sample = Sample {
            stations: Some(3),
            throws: Some(4),
            animals_wanted: Some(NETTED),
            mean_weight_g: Some(14.0),
            water_c: Some(28.0),
            harvest_start: netted.later(0.875),
            drain_hours: Some(24.0),
            note: Some(made_up()),
            ..Sample::netted(pond, netted)
        };
        let sample = self.new_sample(&sample)?;
        let mut photos = Vec::new();
        for animal in animals {
            let photo = self.bring(sample, &animal.photo, Keeping::Copied)?;
            photos.push(Photo {
                um_per_px: Some(um_per_px),
                scale_source: crate::micrograph::scale::ScaleSource::Profile,
                microscope: Some(microscope),
                branch: Some(Branch::Inner),
                site: Some(Site::Middle),
                mount: Some(Mount::Clipped),
                ..photo
            });
        }
        self.act(ActionKind::Demo, Some(sample.row()), |change| {
            for ((position, animal), photo) in (1..).zip(animals).zip(photos) {
                add_animal(change, sample, position, animal, photo)?;
            }
            Ok(sample)
        })
    }
}

/// An animal of this morning with its photo, reading, call and, where one was wanted, second call.
fn add_animal(
    change: &mut Change<'_>,
    sample: SampleId,
    position: i64,
    of: &MadeUpAnimal,
    photo: Photo,
) -> Result<(), LogbookError> {
    let animal = change.add(&Animal {
        station: of.station.clone(),
        shell: of.shell,
        ..Animal::of(sample, of.name.clone(), position)
    })?;
    let photo = change.add(&Photo {
        animal: Some(animal),
        position,
        ..photo
    })?;
    let reading = change.add(&KeptReading {
        photo,
        reading: of.reading.clone(),
        program: env!("CARGO_PKG_VERSION").to_owned(),
        measuring_version: i64::from(crate::measure::MEASURING_VERSION),
        model: of.reading.model.clone(),
        author: None,
        based_on: None,
    })?;
    let call = NewCall {
        stage: of.call,
        unread_because: of.call.is_none().then_some(Unread::Refused),
        reading: Some(reading.row()),
        proposal: of.reading.proposal,
        // every fifth is called before its proposal is shown
        before_proposal: position % 5 == 0,
        second_wanted: of.reading.second_reader,
        note: None,
    };
    let at = change.at();
    let call = change.add(&call.row(animal, FIRST_READER, at))?;
    if let (true, Some(stage)) = (of.reading.second_reader, of.call) {
        let second = change.add(&SecondCall {
            animal,
            stage: Some(stage),
            unread_because: None,
            reader: SECOND_READER.to_owned(),
            called: at,
            chosen: Some(made_up()),
            note: None,
        })?;
        change.add(&Settlement {
            animal,
            call: call.row(),
            set_aside: None,
            second_call: Some(second.row()),
            because: texts::demo::READERS_AGREE.to_owned(),
        })?;
    }
    Ok(())
}

/// Writes ponds with past samples, drawn from a seed.
struct Past<'a, 'b> {
    change: &'a mut Change<'b>,
    morning: Stamp,
    dice: ChaCha8Rng,
    arcs: StageArcs,
}

impl<'a, 'b> Past<'a, 'b> {
    fn new(change: &'a mut Change<'b>, morning: Stamp) -> Self {
        Self {
            change,
            morning,
            dice: ChaCha8Rng::seed_from_u64(SEED),
            arcs: StageArcs::published(),
        }
    }

    fn pond(&mut self, number: usize) -> Result<PondId, LogbookError> {
        let pond = self.change.add(&Pond {
            system: Some(texts::demo::SYSTEMS[number % 2].to_owned()),
            area_m2: Some([4000.0, 5000.0, 5000.0, 3000.0][number % 4]),
            species: Some("vannamei".to_owned()),
            note: Some(made_up()),
            ..Pond::named(texts::demo::pond(number + 1))
        })?;
        for (at, (days, wave)) in PAST[number].into_iter().zip(WAVES[number]).enumerate() {
            self.sample(pond, days, wave, 8.0 + 2.0 * at as f64)?;
        }
        Ok(pond)
    }

    fn sample(
        &mut self,
        pond: PondId,
        days: f64,
        wave: (f64, f64),
        weight: f64,
    ) -> Result<(), LogbookError> {
        let netted = self.morning.later(-days).unwrap_or(self.morning);
        let water = 28.0 + (self.unit() - 0.5) * 1.6;
        let sample = self.change.add(&Sample {
            stations: Some(3),
            throws: Some(4),
            animals_wanted: Some(30),
            mean_weight_g: Some(weight),
            water_c: Some((water * 10.0).round() / 10.0),
            note: Some(made_up()),
            ..Sample::netted(pond, netted)
        })?;
        let animals = 28 + (self.unit() * 20.0) as i64;
        let mut soft = 0.0;
        for position in 1..=animals {
            let stage = self.stage(wave);
            soft += f64::from(u8::from(matches!(stage, Stage::A | Stage::B | Stage::E)));
            self.called(sample, position, stage, netted)?;
        }
        let checked = 200;
        let found = (soft / animals as f64 * f64::from(checked) * (0.7 + 0.6 * self.unit())) as i64;
        let kg = 300.0 + (self.unit() * 400.0).round();
        self.change.add(&Outcome {
            pond,
            sample: Some(sample),
            harvested: netted.later(0.9).unwrap_or(netted),
            ended: netted.later(1.2),
            animals_checked: Some(i64::from(checked)),
            soft_found: Some(found.min(i64::from(checked))),
            harvest_kg: Some(kg),
            refused_kg: Some((kg * found as f64 / f64::from(checked)).min(kg).round()),
            note: Some(made_up()),
        })?;
        Ok(())
    }

    fn called(
        &mut self,
        sample: SampleId,
        position: i64,
        stage: Stage,
        called: Stamp,
    ) -> Result<(), LogbookError> {
        let shell = match stage {
            Stage::A => Some(Shell::Soft),
            Stage::B => Some(Shell::Papery),
            _ => Some(Shell::Firm),
        };
        let station = texts::demo::STATIONS[position as usize % 3];
        let animal = self.change.add(&Animal {
            station: Some(station.to_owned()),
            shell,
            ..Animal::of(sample, format!("{position:02}"), position)
        })?;
        let unread = self.unit() < 0.04;
        let call = if unread {
            NewCall::unread(Unread::Lost)
        } else {
            NewCall::by_eye(stage)
        };
        let reader = [FIRST_READER, SECOND_READER][position as usize % 2];
        self.change.add(&call.row(animal, reader, called))?;
        Ok(())
    }

    /// The stage of an animal whose place in the cycle scatters about the pond's wave.
    fn stage(&mut self, (middle, width): (f64, f64)) -> Stage {
        // the sum of three even draws is near enough to a bell
        let bell = self.unit() + self.unit() + self.unit() - 1.5;
        let phase = (middle + 2.0 * width * bell).rem_euclid(1.0);
        let within = |stage: &Stage| {
            let (from, to) = self.arcs.arc(*stage);
            (from..to).contains(&phase)
        };
        Stage::ALL.into_iter().find(within).unwrap_or(Stage::C)
    }

    fn unit(&mut self) -> f64 {
        (self.dice.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }
}

fn made_up() -> String {
    texts::demo::NOTE.to_owned()
}

/// Six o'clock today, or yesterday when it is earlier now.
fn this_morning(now: Stamp) -> Stamp {
    let text = now.to_string();
    let offset = text.get(23..).unwrap_or("+00:00");
    let six: Stamp = format!("{}T06:00:00.000{offset}", now.date())
        .parse()
        .unwrap_or(now);
    if six <= now {
        six
    } else {
        six.later(-1.0).unwrap_or(now)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_morning_is_never_in_the_future() {
        for (now, morning) in [
            ("2026-11-26T09:30+07:00", "2026-11-26T06:00+07:00"),
            ("2026-11-26T05:59+07:00", "2026-11-25T06:00+07:00"),
            ("2026-11-26T06:00-03:30", "2026-11-26T06:00-03:30"),
        ] {
            let now: Stamp = now.parse().unwrap();
            assert_eq!(this_morning(now), morning.parse().unwrap());
        }
    }
}
