//! What happens between frames: results of the background are taken in, readers get their order.

use crate::desktop::actions::Place;
use crate::desktop::app::App;
use crate::desktop::app::Carry;
use crate::desktop::app::FARM;
use crate::desktop::app::News;
use crate::desktop::app::ReadTask;
use crate::desktop::app::Said;
use crate::desktop::app::WATCH;
use crate::desktop::deeds::Deed;
use crate::desktop::dialogs::Dialog;
use crate::desktop::keeper::Answer;
use crate::desktop::keeper::Letter;
use crate::records::Reading;
use crate::records::measures::Measures;
use crate::texts::window;
use crate::workflow::watching::Sighting;
use crate::workflow::watching::watch;
use crate::workflow::watching::whole_photos;
use egui::Context;
use std::path::PathBuf;
use std::sync::Arc;

impl App {
    /// Takes in what the background has done; draws nothing.
    pub fn logic(&mut self, ctx: &Context) {
        self.work.begin();
        let (news, failed) = self.jobs.collect();
        for failed in failed {
            self.trouble(window::fault(&failed.to_string()));
            // What waits for such a job must not wait for ever.
            if let Some(correcting) = &mut self.correcting {
                correcting.reading = false;
            }
            if let Some(Dialog::Scale(form)) = &mut self.dialog {
                form.looking = false;
            }
        }
        for news in news {
            self.take_in(news);
        }
        let dropped: Vec<PathBuf> = ctx.input_mut(|input| {
            let files = std::mem::take(&mut input.raw.dropped_files);
            files.iter().map(|file| file.path().to_owned()).collect()
        });
        if !dropped.is_empty() {
            self.deeds.push(Deed::Take(dropped));
        }
        self.read_what_was_corrected();
        self.order_readers();
        self.carry();
        self.work.end(false);
    }

    fn take_in(&mut self, news: News) {
        match news {
            News::Read { photo, done } => {
                self.read.insert(photo.clone());
                self.send(Letter::Keep { photo, done });
            }
            News::Answer(answer) => self.hear(*answer),
            News::Chosen(deeds) => self.deeds.extend(deeds),
            News::Blind(news) => self.hear_blind(news),
            News::Ruled(found) => {
                if let Some(Dialog::Scale(form)) = &mut self.dialog {
                    form.found = Some(found);
                    form.looking = false;
                }
            }
            News::Corrected { photo, reading } => self.corrected(photo, reading),
            News::Trained(result) => self.was_trained(result),
            News::Carried(found) => {
                self.outlook.found = Some(found.map(|found| Arc::new(*found)));
            }
            News::Watching(folder, known) => self.watching(folder, known),
            News::LooksKept => {}
            News::Sighted(Sighting::Photo(path)) => {
                self.send(Letter::TakePhotos(vec![path]));
            }
            News::Sighted(Sighting::Gone(_)) => {
                let folder = self.watched.clone().unwrap_or_default();
                self.trouble(window::watch_lost(&folder));
            }
            News::Sighted(Sighting::Back) => {
                let folder = self.watched.clone().unwrap_or_default();
                self.say(window::watch_back(&folder));
            }
        }
    }

    /// Gives the clerk something to do.
    pub(in crate::desktop) fn send(&mut self, letter: Letter) {
        if self.clerk.give(letter) {
            self.letters += 1;
        } else {
            self.trouble(window::fault(window::LOGBOOK_FAULT));
        }
    }

    /// Takes in what the clerk confirmed.
    fn hear(&mut self, answer: Answer) {
        self.letters = self.letters.saturating_sub(1);
        if answer.aside {
            if let Some(trouble) = answer.trouble {
                self.trouble(trouble);
            } else if let Some(said) = answer.said {
                self.say(said);
            }
            return;
        }
        if let Some(readers) = answer.readers {
            self.readers_sheet = readers;
            self.hear_readers();
        } else {
            self.follow_round();
        }
        if let Some(sheet) = answer.sheet {
            if sheet.id != self.sheet.id {
                self.bench.begin(&sheet);
                self.outlook.begin();
            }
            self.sheet = sheet;
        }
        if let Some(counted) = answer.counted {
            self.counted = Some(counted);
            self.outlook.stale = true;
        }
        if let Some(farm) = answer.farm {
            self.farm = farm;
        }
        if let Some(model) = answer.model {
            self.model = Some(model);
        }
        if let Some(training) = answer.training {
            if training.file != self.school.sheet.file {
                self.school.trained = None;
            }
            self.school.sheet = training;
        }
        if let Some(found) = answer.found {
            self.found = found;
            return;
        }
        self.undo = answer.undo;
        self.redo = answer.redo;
        if !answer.welcome && self.dialog == Some(Dialog::Welcome) {
            self.dialog = None;
        }
        let coming = self.jobs.runs(FARM) || self.room.is_some();
        if answer.welcome && self.dialog.is_none() && !coming {
            self.dialog = Some(Dialog::Welcome);
        }
        if let Some(about) = answer.about {
            self.pending.remove(&about);
        }
        let sheet = &self.sheet;
        self.read
            .retain(|id| sheet.photo(id).is_some_and(|photo| photo.reading.is_none()));
        if let Some(trouble) = answer.trouble {
            self.trouble(trouble);
        } else if let Some(said) = answer.said {
            self.say(said);
        }
        if let Some(at) = answer.look_at
            && let Some(position) = self.sheet.animals.iter().position(|animal| animal.id == at)
        {
            self.bench.look_at(position);
        }
    }

    /// Takes in a reading that was corrected.
    fn corrected(&mut self, photo: String, reading: Result<Box<(Reading, Measures)>, String>) {
        if let Some(correcting) = &mut self.correcting {
            correcting.reading = false;
        }
        match reading {
            Ok(reading) => {
                self.send(Letter::Correct { photo, reading });
            }
            Err(why) => self.trouble(why),
        }
    }

    /// Carries the tally forward when somebody looks at it and it is no longer right. Of several
    /// wishes the last one counts.
    fn carry(&mut self) {
        if self.place != Place::Forecast || !self.outlook.stale {
            return;
        }
        let Some(counted) = self.counted.as_ref().filter(|c| c.tally.called > 0) else {
            self.outlook.found = None;
            return;
        };
        if self.carriers.load().1 > 0 {
            return;
        }
        self.outlook.stale = false;
        let counted = Arc::clone(counted);
        let trial = self.outlook.trial;
        self.carriers.order([Carry(counted, trial)]);
    }

    /// Gives the readers what is unread, in the order in which the person will look.
    fn order_readers(&self) {
        let tasks = self.sheet.unread_from(self.bench.at).into_iter();
        let tasks = tasks.filter(|photo| !self.paused && !self.read.contains(&photo.id));
        self.readers.order(tasks.map(|photo| ReadTask {
            photo: photo.id.clone(),
            hash: photo.hash.clone(),
            name: photo.name.clone(),
            path: photo.path.clone(),
            um_per_px: photo.um_per_px,
            model: self.model.clone(),
        }));
    }

    /// Says what was done.
    pub(in crate::desktop) fn say(&mut self, words: String) {
        self.said = Some(Said {
            words,
            trouble: false,
        });
    }

    /// Says what went wrong and what to do.
    pub(in crate::desktop) fn trouble(&mut self, words: String) {
        self.said = Some(Said {
            words,
            trouble: true,
        });
    }

    /// Begins to watch a folder, which is looked into in the background.
    pub(in crate::desktop) fn watch(&mut self, folder: PathBuf) {
        let own = folder.clone();
        let started = self.jobs.start(WATCH, move |progress, outbox| {
            let known = whole_photos(&own).map_err(|error| window::cannot_open(&own, &error));
            outbox.send(News::Watching(own.clone(), known.clone()));
            if let Ok(known) = known {
                watch(&own, known.into_iter().collect(), progress, |sighting| {
                    outbox.send(News::Sighted(sighting));
                });
            }
        });
        match started {
            Ok(true) => self.watched = Some(folder),
            // The folder watched before is still being left.
            Ok(false) => self.trouble(window::WATCH_AGAIN.to_owned()),
            Err(error) => self.trouble(window::no_thread(&error)),
        }
    }

    /// A folder was looked into for the first time.
    fn watching(&mut self, folder: PathBuf, known: Result<Vec<PathBuf>, String>) {
        if self.watched.as_ref() != Some(&folder) {
            // It is no longer watched.
            return;
        }
        match known {
            Ok(known) => {
                if !known.is_empty() {
                    self.send(Letter::TakePhotos(known));
                }
                self.say(window::watching(&folder));
                self.looks.watched = Some(folder);
                self.keep_looks();
            }
            Err(why) => {
                self.watched = None;
                self.trouble(why);
            }
        }
    }
}
