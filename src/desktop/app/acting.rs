//! The one place that acts.

use crate::desktop::actions::Action;
use crate::desktop::actions::Place;
use crate::desktop::app::App;
use crate::desktop::app::CHOOSE;
use crate::desktop::app::News;
use crate::desktop::app::WATCH;
use crate::desktop::deeds::Deed;
use crate::desktop::desk::AnimalSheet;
use crate::desktop::dialogs;
use crate::desktop::dialogs::Dialog;
use crate::desktop::dialogs::Purpose;
use crate::desktop::keeper::Letter;
use crate::desktop::theme::SIZES;
use crate::moult::Stage;
use crate::texts::window;
use egui::Context;

impl App {
    /// Does what was asked for since the last frame.
    pub(in crate::desktop) fn act(&mut self, ctx: &Context) {
        for deed in std::mem::take(&mut self.deeds) {
            match deed {
                Deed::Do(action) => self.perform(ctx, action),
                Deed::LookAt(position) => self.bench.look_at(position),
                Deed::PhotoAt(position) => self.bench.photo = position,
                Deed::Take(paths) => {
                    self.clerk.give(Letter::TakePhotos(paths));
                }
                Deed::Refuse(why) => {
                    self.about_animal(|animal| Letter::Refuse { animal, why });
                    self.go_on();
                }
                Deed::Note(note) => self.about_animal(|animal| Letter::Note { animal, note }),
                Deed::Assign { photo, animal } => self.assign(photo, animal),
                Deed::WatchFolder(folder) => self.watch(folder),
                Deed::Choose(purpose) => self.choose(purpose),
                Deed::Hush => self.said = None,
            }
        }
    }

    fn perform(&mut self, ctx: &Context, action: Action) {
        self.performed.insert(action);
        match action {
            Action::Go(place) => self.place = place,
            Action::Undo if self.undo.is_none() => self.say(window::NOTHING_TO_UNDO.to_owned()),
            Action::Redo if self.redo.is_none() => self.say(window::NOTHING_TO_REDO.to_owned()),
            Action::Undo => {
                self.clerk.give(Letter::Undo);
            }
            Action::Redo => {
                self.clerk.give(Letter::Redo);
            }
            Action::Close => self.close(),
            Action::Find | Action::Refuse | Action::Note => {
                let note = self
                    .bench
                    .animal(&self.sheet)
                    .map(|animal| animal.note.clone());
                self.dialog = dialogs::of(action, &note.unwrap_or_default());
            }
            Action::AddPhotos => self.ask_path(Purpose::Take),
            Action::AddFolder => self.ask_path(Purpose::TakeFolder),
            Action::Watch => self.watch_or_not(),
            Action::StopReading => {
                self.paused = true;
                self.say(window::READING_STOPPED.to_owned());
            }
            Action::ReadWhatIsLeft => self.paused = false,
            Action::LightOrDark => {
                self.dark = !self.dark;
                ctx.set_theme(if self.dark {
                    egui::Theme::Dark
                } else {
                    egui::Theme::Light
                });
            }
            Action::Larger => self.resize(ctx, self.size * 1.1),
            Action::Smaller => self.resize(ctx, self.size / 1.1),
            Action::UsualSize => self.resize(ctx, 1.0),
            Action::Agree => self.agree(),
            Action::Call(stage) => self.call(stage),
            Action::Withdraw => self.about_animal(|animal| Letter::Withdraw { animal }),
            Action::SecondReader => {
                let animal = self.bench.animal(&self.sheet);
                let wanted = animal.is_some_and(|animal| !animal.second_wanted);
                self.about_animal(|animal| Letter::Second { animal, wanted });
            }
            Action::Shell(shell) => self.about_animal(|animal| Letter::Shell { animal, shell }),
            other => self.look(ctx, other),
        }
    }

    fn resize(&mut self, ctx: &Context, size: f32) {
        self.size = size.clamp(SIZES[0], SIZES[1]);
        ctx.set_zoom_factor(self.size);
    }

    fn close(&mut self) {
        if self.dialog.take().is_none() {
            self.said = None;
            self.bench.eye.lens = false;
        }
    }

    fn ask_path(&mut self, purpose: Purpose) {
        self.dialog = Some(Dialog::Path {
            purpose,
            path: String::new(),
        });
    }

    fn watch_or_not(&mut self) {
        if self.watched.take().is_some() {
            self.jobs.stop(WATCH);
            self.say(window::WATCH_ENDED.to_owned());
        } else {
            self.ask_path(Purpose::Watch);
        }
    }

    /// Lets the system's dialog ask for files or a folder, in a thread of its own.
    fn choose(&mut self, purpose: Purpose) {
        self.dialog = None;
        let started = self.jobs.start(CHOOSE, move |_, outbox| {
            let dialog = rfd::FileDialog::new();
            let deed = match purpose {
                Purpose::Take => dialog.pick_files().map(Deed::Take),
                Purpose::TakeFolder => dialog.pick_folder().map(|folder| Deed::Take(vec![folder])),
                Purpose::Watch => dialog.pick_folder().map(Deed::WatchFolder),
            };
            outbox.send(News::Chosen(deed.into_iter().collect()));
        });
        if let Err(error) = started {
            self.trouble(window::no_thread(&error));
        }
    }

    /// Sends a letter about the animal in hand.
    fn about_animal(&mut self, letter: impl FnOnce(String) -> Letter) {
        let Some(animal) = self.bench.animal(&self.sheet) else {
            return self.say(window::NO_SLIDE.to_owned());
        };
        let id = animal.id.clone();
        self.pending.insert(id.clone());
        self.clerk.give(letter(id));
    }

    fn call(&mut self, stage: Stage) {
        let animal = self.bench.animal(&self.sheet);
        let before_proposal = animal.is_some_and(AnimalSheet::is_hidden);
        self.about_animal(|animal| Letter::Call {
            animal,
            stage,
            before_proposal,
        });
        self.go_on();
    }

    /// Calls the stage that is proposed, unless that would be habit: not where the program cannot
    /// tell, is ambiguous or far from its training, and not before the proposal is shown.
    fn agree(&mut self) {
        let Some(animal) = self.bench.animal(&self.sheet) else {
            return;
        };
        if self.pending.contains(&animal.id) {
            return;
        }
        let why = match &animal.proposal {
            _ if animal.is_hidden() => 3,
            None => 4,
            Some(found) => match found.stage {
                Some(stage) if found.may_be_agreed() => return self.call(stage),
                None => 0,
                Some(_) if found.second_reader => 1,
                Some(_) => 2,
            },
        };
        self.say(window::stage_key_needed(window::NO_AGREEING[why]));
    }

    /// Goes to the next animal without a call.
    fn go_on(&mut self) {
        let pending = &self.pending;
        let open = |animal: &AnimalSheet| animal.is_uncalled() && !pending.contains(&animal.id);
        match self.sheet.next(self.bench.at, open) {
            Some(position) => self.bench.look_at(position),
            None => self.finished = true,
        }
    }

    pub(in crate::desktop) fn assign(&mut self, photo: String, position: usize) {
        if let Some(animal) = self.sheet.animals.get(position) {
            let animal = animal.id.clone();
            self.pending.insert(animal.clone());
            self.clerk.give(Letter::Assign { photo, animal });
        }
    }

    /// When everything is called, the tally is the next thing to look at.
    pub(in crate::desktop) fn offer_tally(&mut self) {
        if self.finished && self.pending.is_empty() {
            self.finished = false;
            let (done, all) = self.sheet.done();
            if done == all && all > 0 {
                self.say(window::ALL_CALLED.to_owned());
                self.place = Place::Tally;
            }
        }
    }
}
