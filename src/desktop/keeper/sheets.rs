//! What stands in the logbook as sheets for the window.

use crate::desktop::desk::AnimalSheet;
use crate::desktop::desk::CallSheet;
use crate::desktop::desk::FarmSheet;
use crate::desktop::desk::PhotoSheet;
use crate::desktop::desk::PondSheet;
use crate::desktop::desk::ProfileSheet;
use crate::desktop::desk::SampleLine;
use crate::desktop::desk::SampleSheet;
use crate::desktop::keeper::kept::CountedLine;
use crate::desktop::keeper::kept::Kept;
use crate::desktop::keeper::kept::LastReading;
use crate::desktop::keeper::kept::Trouble;
use crate::desktop::keeper::kept::id;
use crate::desktop::keeper::kept::told;
use crate::records::decisions::Call;
use crate::records::ids::AnimalId;
use crate::records::ids::PhotoId;
use crate::records::ids::RowId;
use crate::records::ids::SampleId;
use crate::records::pictures::KeptReading;
use crate::records::pictures::Photo;
use crate::records::places::Sample;
use crate::records::table;
use crate::texts;
use crate::texts::window;
use crate::workflow::blind::before_proposal;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::counting::Counted;
use crate::workflow::logbook::made_up::MARK;
use crate::workflow::logbook::samples::AnimalInHand;
use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use std::sync::Arc;

impl Kept {
    /// The sample in hand, with its tally where that is wanted.
    pub(in crate::desktop::keeper) fn sample_sheet(
        &mut self,
        count: bool,
    ) -> Result<(SampleSheet, Option<Counted>), Trouble> {
        let Some(sample) = self.sample else {
            return Ok((SampleSheet::default(), None));
        };
        let second = self.second_wanting()?;
        let tested = self.tested()?;
        let session = self.session.as_ref().ok_or(window::NO_LOGBOOK)?;
        let hand = session.sample_in_hand(sample).map_err(told)?;
        let mut readings = std::mem::take(&mut self.readings);
        let photos = hand.animals.iter().flat_map(|of| &of.photos);
        for photo in photos.chain(&hand.unassigned) {
            if let Entry::Vacant(place) = readings.entry(photo.thing()) {
                let last = session.reading_of(photo.thing()).map_err(told)?;
                place.insert(last.map(|last| last_reading(&photo.body, &last)));
            }
        }
        self.readings = readings;
        let seed = sample.to_string();
        let animals = hand.animals.iter().enumerate();
        let animals = animals.map(|(position, of)| {
            let mut sheet = self.sheet_of(session, of, &second);
            sheet.blind = before_proposal(&seed, position);
            sheet
        });
        let animals: Vec<AnimalSheet> = animals.collect();
        let body = &hand.sample.body;
        let sheet = SampleSheet {
            id: seed,
            pond: hand.pond.body.name.clone(),
            netted: body.netted.date_and_hour(),
            harvest_at: body.harvest_start.map(|at| at.to_string()),
            drain_hours: body.drain_hours,
            weight_g: body.mean_weight_g,
            water_c: body.water_c,
            species: hand.pond.body.species.clone(),
            made_up: session.setting(MARK).map_err(told)?.is_some(),
            tested,
            animals,
        };
        let counted = count
            .then(|| session.count(&hand))
            .transpose()
            .map_err(told)?;
        Ok((sheet, counted))
    }

    fn sheet_of(&self, session: &Session, of: &AnimalInHand, second: &[String]) -> AnimalSheet {
        let marked = second.contains(&of.id().to_string());
        let body = &of.animal.body;
        let photos = of.photos.iter().map(|photo| {
            let last = self.readings.get(&photo.thing()).and_then(Option::as_ref);
            photo_sheet(session, photo, last)
        });
        let call = of.call().map(|call| &call.body);
        let rivals = of.calls.iter().filter(|_| of.calls.len() > 1);
        let mut sheet = AnimalSheet {
            id: of.id().to_string(),
            name: body.name.clone(),
            station: body.station.clone(),
            shell: body.shell,
            note: body.note.clone().unwrap_or_default(),
            photos: photos.collect(),
            call: call.map(call_sheet),
            rivals: rivals.map(|call| call_sheet(&call.body)).collect(),
            second_wanted: call.map_or(marked, |call| call.second_wanted),
            blind: false,
            proposal: None,
        };
        sheet.propose();
        sheet
    }

    /// The sheet of one animal.
    pub(in crate::desktop::keeper) fn animal_sheet(
        &mut self,
        animal: &str,
    ) -> Result<AnimalSheet, Trouble> {
        let second = self.second_wanting()?;
        let session = self.session.as_ref().ok_or(window::NO_LOGBOOK)?;
        let hand = session.sample_in_hand(self.in_hand()?).map_err(told)?;
        let thing: AnimalId = id(animal)?;
        let of = hand.animals.iter().find(|of| of.id() == thing);
        let of = of.ok_or(window::NO_SUCH_ANIMAL)?;
        Ok(self.sheet_of(session, of, &second))
    }

    /// The name of an animal.
    pub(in crate::desktop::keeper) fn name_of(&mut self, animal: &str) -> Result<String, Trouble> {
        let animal = id(animal)?;
        Ok(self.session()?.animal(animal).map_err(told)?.body.name)
    }

    /// The row of the reading in view of an animal: that of its first photo which has one.
    pub(in crate::desktop::keeper) fn reading_in_view(
        &mut self,
        animal: &str,
    ) -> Result<Option<RowId>, Trouble> {
        let sheet = self.animal_sheet(animal)?;
        for photo in &sheet.photos {
            let photo: PhotoId = id(&photo.id)?;
            if let Some(Some(last)) = self.readings.get(&photo)
                && last.reading.usable
            {
                return Ok(Some(last.row));
            }
        }
        Ok(None)
    }

    /// The farm: its ponds with their samples, its readers, profiles and limits.
    pub(in crate::desktop::keeper) fn farm_sheet(&mut self) -> Result<FarmSheet, Trouble> {
        let session = self.session.as_ref().ok_or(window::NO_LOGBOOK)?;
        if !session.others().is_empty() {
            self.lines.clear();
        }
        let mut ponds = Vec::new();
        for pond in session.ponds().map_err(told)? {
            let mut samples = Vec::new();
            let outcomes = session.outcomes_of(pond.thing()).map_err(told)?;
            let mut in_time = session.samples_of(pond.thing()).map_err(told)?;
            in_time.sort_by_key(|counted| counted.sample.body.netted);
            for counted in in_time {
                let sample = counted.sample.thing();
                let counts = [counted.animals, counted.called];
                let key = (sample, counted.sample.head.id, counts);
                let line = counted_line(session, &mut self.lines, key)?;
                let body: &Sample = &counted.sample.body;
                let outcome = outcomes.iter().find(|of| of.body.sample == Some(sample));
                samples.push(SampleLine {
                    id: sample.to_string(),
                    netted: body.netted.date_and_hour(),
                    weight_g: body.mean_weight_g,
                    water_c: body.water_c,
                    animals: counted.animals as usize,
                    called: counted.called as usize,
                    soft: line.soft,
                    due: line.due,
                    answer: line.answer,
                    outcome: outcome.map(|of| window::outcome_line(&of.body)),
                    note: body.note.clone().unwrap_or_default(),
                });
            }
            ponds.push(PondSheet {
                id: pond.thing().to_string(),
                name: pond.body.name.clone(),
                species: pond.body.species.clone(),
                note: pond.body.note.clone().unwrap_or_default(),
                samples,
            });
        }
        let profiles = session.microscopes().map_err(told)?;
        let in_use = self.microscope;
        Ok(FarmSheet {
            name: session.farm().to_owned(),
            file: session.file().to_owned(),
            reader: session.reader().to_owned(),
            ponds,
            profiles: profiles
                .iter()
                .map(|profile| ProfileSheet {
                    id: profile.thing().to_string(),
                    name: profile.body.name.clone(),
                    um_per_px: profile.body.um_per_px,
                    in_use: in_use == Some(profile.thing()),
                })
                .collect(),
            limits: session.farm_limits().map_err(told)?,
            reader_slides: session
                .reader_slides()
                .map_err(told)?
                .map(|slides| (slides.from, slides.slides.len())),
        })
    }
}

/// What the tally of a sample says, made anew where the sample is another than before.
fn counted_line(
    session: &Session,
    lines: &mut BTreeMap<SampleId, CountedLine>,
    (sample, row, counts): (SampleId, RowId, [u64; 2]),
) -> Result<CountedLine, Trouble> {
    let known = lines.get(&sample);
    if let Some(known) = known.filter(|known| known.row == row && known.counts == counts) {
        return Ok(known.clone());
    }
    let tally = session.tally(sample).map_err(told)?;
    let answer = (tally.called > 0).then(|| texts::tally::answer(tally.at_netting).to_owned());
    let line = CountedLine {
        row,
        counts,
        soft: tally.soft.share,
        due: tally.due.share,
        answer,
    };
    lines.insert(sample, line.clone());
    Ok(line)
}

fn call_sheet(call: &Call) -> CallSheet {
    CallSheet {
        stage: call.stage,
        unread_because: call
            .unread_because
            .map(|why| window::unread_because(why).to_owned()),
        reader: call.reader.clone(),
        proposal: call.proposal,
        before_proposal: call.before_proposal,
    }
}

/// Width and height of a photo, where they are known.
fn size_of(photo: &Photo) -> Option<[u32; 2]> {
    let width = u32::try_from(photo.width_px?).ok()?;
    Some([width, u32::try_from(photo.height_px?).ok()?])
}

fn last_reading(photo: &Photo, last: &table::Kept<KeptReading>) -> LastReading {
    LastReading {
        row: last.head.id,
        reading: Arc::new(last.body.reading.clone()),
        size: size_of(photo),
        by_hand: last.body.author.is_some(),
    }
}

fn photo_sheet(
    session: &Session,
    photo: &table::Kept<Photo>,
    last: Option<&LastReading>,
) -> PhotoSheet {
    let body = &photo.body;
    PhotoSheet {
        id: photo.thing().to_string(),
        hash: body.hash.clone(),
        name: body.name.clone(),
        path: session.photo_file(body),
        size: last.and_then(|last| last.size).or_else(|| size_of(body)),
        um_per_px: body.um_per_px,
        reading: last.map(|last| Arc::clone(&last.reading)),
        by_hand: last.is_some_and(|last| last.by_hand),
    }
}
