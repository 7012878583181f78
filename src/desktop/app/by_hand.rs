//! What a person does on the photo itself: corrections, two clicks, rulings.

use crate::desktop::app::App;
use crate::desktop::app::News;
use crate::desktop::correcting::Clicks;
use crate::desktop::correcting::ClicksFor;
use crate::desktop::correcting::Correcting;
use crate::desktop::dialogs::Dialog;
use crate::desktop::dialogs::ScaleForm;
use crate::geometry::Point;
use crate::texts;
use crate::texts::window;
use crate::units::Micrometres;
use crate::units::MicrometresPerPixel;
use crate::workflow::correcting::Correction;
use crate::workflow::correcting::read_corrected;
use crate::workflow::reading::ReadOptions;
use crate::workflow::scaling::calibrate;
use std::path::PathBuf;

/// Name of the job that reads a corrected photo.
const CORRECT: &str = "correct";
/// Name of the job that looks for a ruling.
const RULING: &str = "ruling";

impl App {
    /// Begins to correct the photo in view, or ends it.
    pub(in crate::desktop) fn correct_or_not(&mut self) {
        if self.correcting.take().is_some() {
            return;
        }
        let animal = self.bench.animal(&self.sheet);
        let photo = animal.and_then(|animal| self.bench.photo_of(animal));
        let usable = |reading: &crate::records::Reading| reading.usable;
        match photo.filter(|(_, photo)| photo.reading.as_deref().is_some_and(usable)) {
            Some((_, photo)) => {
                self.correcting = Some(Correcting::of(&photo.id));
                self.say(window::CORRECTING.to_owned());
            }
            None => self.say(window::NOTHING_TO_CORRECT.to_owned()),
        }
    }

    /// Moves the row or the edge by pixels of the photo inwards.
    pub(in crate::desktop) fn shift(&mut self, bases: f64, edge: f64) {
        if let Some(correcting) = &mut self.correcting {
            correcting.held = None;
            correcting.shift(bases, edge);
        }
    }

    /// Waits for two clicks on the photo in view.
    pub(in crate::desktop) fn begin_clicks(&mut self, purpose: ClicksFor) {
        if self.bench.animal(&self.sheet).is_none() {
            return self.say(window::NO_SLIDE.to_owned());
        }
        self.dialog = None;
        self.clicks = Some(Clicks {
            purpose,
            first: None,
        });
        self.say(window::CLICKS[purpose as usize].to_owned());
    }

    /// Both points were clicked.
    pub(in crate::desktop) fn clicked(&mut self, [from, to]: [Point; 2]) {
        let Some(clicks) = self.clicks.take() else {
            return;
        };
        match clicks.purpose {
            ClicksFor::Length => {
                self.dialog = Some(Dialog::Scale(Box::new(ScaleForm {
                    length_px: from.distance(to),
                    ..ScaleForm::new()
                })));
            }
            ClicksFor::Gap => {
                if self.correcting.is_none() {
                    self.correct_or_not();
                }
                if let Some(correcting) = &mut self.correcting {
                    let gap = Correction::Gap {
                        base: from,
                        edge: to,
                    };
                    correcting.correct(gap);
                }
            }
        }
    }

    /// Reads the photo anew with what was corrected since, in the background.
    pub(in crate::desktop) fn read_what_was_corrected(&mut self) {
        let Some(correcting) = &mut self.correcting else {
            return;
        };
        if !correcting.waits() || self.jobs.runs(CORRECT) {
            return;
        }
        let Some(photo) = self.sheet.photo(&correcting.photo).cloned() else {
            return;
        };
        let corrections = correcting.begin_reading();
        let model = self.model.clone();
        let started = self.jobs.start(CORRECT, move |_, outbox| {
            let profile = photo.um_per_px.map(MicrometresPerPixel::new);
            let options = ReadOptions {
                profile: profile.and_then(Result::ok),
                model,
                ..ReadOptions::default()
            };
            let reading = read_corrected(&photo.path, &photo.name, &options, &corrections);
            outbox.send(News::Corrected {
                photo: photo.id,
                reading: reading.map(Box::new),
            });
        });
        if let Err(error) = started {
            self.trouble(window::no_thread(&error));
        }
    }

    /// Looks for a ruling in a photo, in the background.
    pub(in crate::desktop) fn find_ruling(&mut self, photo: PathBuf, division: f64) {
        let started = self.jobs.start(RULING, move |_, outbox| {
            let found = match calibrate(&photo, Micrometres::new(division)) {
                Ok(Ok(found)) if found.plausible => {
                    Ok((found.scale.value.get(), found.scale.error_um_per_px))
                }
                Ok(Ok(_)) => Err(window::IMPLAUSIBLE.to_owned()),
                Ok(Err(why)) => Err(window::no_ruling(
                    &why,
                    texts::scales::no_ruling_remedy(&why),
                )),
                Err(error) => Err(window::cannot_open(&photo, &error)),
            };
            outbox.send(News::Ruled(found));
        });
        if let Err(error) = started {
            self.trouble(window::no_thread(&error));
        }
    }
}
