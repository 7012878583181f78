//! The one place that acts.

use crate::desktop::actions::Action;
use crate::desktop::actions::Place;
use crate::desktop::app::App;
use crate::desktop::app::CHOOSE;
use crate::desktop::app::FARM;
use crate::desktop::app::News;
use crate::desktop::app::TRAIN;
use crate::desktop::app::WATCH;
use crate::desktop::app::blind::SLIDES;
use crate::desktop::correcting::ClicksFor;
use crate::desktop::deeds::Deed;
use crate::desktop::desk::AnimalSheet;
use crate::desktop::desk::PondSheet;
use crate::desktop::desk::SampleForm;
use crate::desktop::dialogs;
use crate::desktop::dialogs::Dialog;
use crate::desktop::dialogs::OutcomeForm;
use crate::desktop::dialogs::Purpose;
use crate::desktop::dialogs::ScaleForm;
use crate::desktop::dialogs::SettingsForm;
use crate::desktop::keeper::Book;
use crate::desktop::keeper::Letter;
use crate::desktop::keeper::readers::ReadersLetter;
use crate::desktop::places::forecast::USUAL_WATER;
use crate::desktop::places::forecast::WATERS;
use crate::desktop::places::worth::WorthForm;
use crate::desktop::theme::SIZES;
use crate::moult::Stage;
use crate::texts::window;
use crate::workflow::logbook::Session;
use crate::workflow::made_up::made_up_farm;
use egui::Context;

impl App {
    /// Does what was asked for since the last frame.
    pub(in crate::desktop) fn act(&mut self, ctx: &Context) {
        if !self.deeds.is_empty() {
            // What was done is to be seen at once.
            ctx.request_repaint();
        }
        for deed in std::mem::take(&mut self.deeds) {
            self.do_deed(ctx, deed);
        }
    }

    fn do_deed(&mut self, ctx: &Context, deed: Deed) {
        let letter = match deed {
            Deed::Do(action) => return self.perform(ctx, action),
            Deed::LookAt(position) => return self.bench.look_at(position),
            Deed::PhotoAt(position) => return self.bench.photo = position,
            Deed::Refuse(why) => {
                self.about_animal(|animal| Letter::Refuse { animal, why });
                return self.go_on();
            }
            Deed::Note(note) => return self.about_animal(|animal| Letter::Note { animal, note }),
            Deed::Assign { photo, animal } => return self.assign(photo, animal),
            Deed::WatchFolder(folder) => return self.watch(folder),
            Deed::Choose(purpose) => return self.choose(purpose),
            Deed::Trouble(words) => return self.trouble(words),
            Deed::Ruling(photo, division) => return self.find_ruling(photo, division),
            Deed::TwoClicks => return self.begin_clicks(ClicksFor::Length),
            Deed::Clicked(points) => return self.clicked(points),
            Deed::Shift { bases, edge } => return self.shift(bases, edge),
            Deed::Water(water) => {
                self.outlook.trial.water_c = Some(water);
                self.outlook.stale = true;
                return;
            }
            Deed::Reader(name) => {
                self.looks.reader.clone_from(&name);
                self.keep_looks();
                Letter::Reader(name)
            }
            Deed::TakeSample(sample) => {
                self.place = Place::Slides;
                Letter::TakeSample(sample)
            }
            Deed::SendSlides { .. }
            | Deed::OpenSlides(_)
            | Deed::TakeAnswer(_)
            | Deed::Standard(_)
            | Deed::Settle { .. } => return self.readers_deed(deed),
            Deed::Open(book) => Letter::Open(book),
            Deed::NewSample(form) => Letter::NewSample(form),
            Deed::Take(paths) => Letter::TakePhotos(paths),
            Deed::Count(stage) => Letter::Count(stage),
            Deed::Limits(limits) => Letter::Limits(limits),
            Deed::Profile(profile) => Letter::Profile(profile),
            Deed::UseProfile(profile) => Letter::UseProfile(profile),
            Deed::Outcome(outcome) => Letter::Outcome(outcome),
            Deed::Worth(worth) => Letter::Worth(worth),
            Deed::ReaderSlides(file) => Letter::ReaderSlides(file),
            Deed::Ask(purpose) => {
                self.dialog = Some(dialogs::path(purpose));
                return;
            }
            Deed::Merge(other) => Letter::Merge(other),
            Deed::Search(words) => Letter::Search(words),
            Deed::WithdrawLabel(because) => return self.withdraw_chosen(because),
            Deed::ImportLabels(table) => Letter::ImportLabels(table),
            Deed::Adopt(name) => Letter::Adopt(name),
            Deed::ExportModel(file) => Letter::ExportModel(file),
            Deed::ImportModel(file) => Letter::ImportModel(file),
            Deed::SaveTable(file) => Letter::SaveTable(file),
            Deed::SavePage(file) => Letter::SavePage(file),
        };
        self.send(letter);
    }

    fn perform(&mut self, ctx: &Context, action: Action) {
        self.performed.insert(action);
        match action {
            Action::Go(place) => {
                self.place = place;
                match place {
                    Place::Ponds => self.send(Letter::Farm),
                    Place::Training => {
                        if let Some(room) = &mut self.room {
                            room.resume();
                        }
                        self.send(ReadersLetter::Look.into());
                        self.send(Letter::Training);
                    }
                    _ => {}
                }
            }
            Action::Undo if self.undo.is_none() => self.say(window::NOTHING_TO_UNDO.to_owned()),
            Action::Redo if self.redo.is_none() => self.say(window::NOTHING_TO_REDO.to_owned()),
            Action::Undo => {
                self.correcting = None;
                self.send(Letter::Undo);
                self.show_labels_again();
            }
            Action::Redo => {
                self.correcting = None;
                self.send(Letter::Redo);
                self.show_labels_again();
            }
            Action::MadeUpFarm => self.make_farm(),
            Action::Close => self.close(),
            Action::NewSample => {
                self.dialog = Some(Dialog::Sample(Box::new(SampleForm::after(&self.sheet))));
            }
            Action::EditSample => match SampleForm::of(&self.sheet) {
                Some(form) => self.dialog = Some(Dialog::Sample(Box::new(form))),
                None => self.say(window::NO_SAMPLE.to_owned()),
            },
            Action::Settings => {
                self.dialog = Some(Dialog::Settings(Box::new(SettingsForm::of(&self.farm))));
            }
            Action::Scales => self.dialog = Some(Dialog::Scale(Box::new(ScaleForm::new()))),
            Action::Outcome => self.ask_outcome(),
            Action::Search => self.search.wanted = true,
            Action::Worth => self.outlook.form = Some(WorthForm::of(self.counted.as_deref())),
            Action::Find
            | Action::Refuse
            | Action::Note
            | Action::AddPhotos
            | Action::AddFolder
            | Action::OpenLogbook
            | Action::NewLogbook
            | Action::SaveTable
            | Action::SavePage
            | Action::MergeLogbook
            | Action::ImportLabels
            | Action::ExportModel
            | Action::ImportModel
            | Action::CountByEye => {
                let animal = self.bench.animal(&self.sheet);
                let note = animal.map(|animal| animal.note.clone());
                self.dialog = dialogs::of(action, &note.unwrap_or_default());
            }
            Action::Watch => self.watch_or_not(),
            Action::StopReading => self.stop_what_runs(),
            Action::ReadWhatIsLeft => self.paused = false,
            Action::LightOrDark => {
                self.looks.dark = !self.looks.dark;
                self.keep_looks();
                ctx.set_theme(if self.looks.dark {
                    egui::Theme::Dark
                } else {
                    egui::Theme::Light
                });
            }
            Action::Larger => self.resize(ctx, self.looks.size * 1.1),
            Action::Smaller => self.resize(ctx, self.looks.size / 1.1),
            Action::UsualSize => self.resize(ctx, 1.0),
            other => self.perform_on_sample(ctx, other),
        }
    }

    fn perform_on_sample(&mut self, ctx: &Context, action: Action) {
        match action {
            Action::Agree => self.agree(),
            Action::Call(stage) => self.call(stage),
            Action::Withdraw => self.about_animal(|animal| Letter::Withdraw { animal }),
            Action::SecondReader => {
                let animal = self.bench.animal(&self.sheet);
                let wanted = animal.is_some_and(|animal| !animal.second_wanted);
                self.about_animal(|animal| Letter::Second { animal, wanted });
            }
            Action::Shell(shell) => self.about_animal(|animal| Letter::Shell { animal, shell }),
            Action::Correct => self.correct_or_not(),
            Action::DrawGap => self.begin_clicks(ClicksFor::Gap),
            Action::Warmer | Action::Cooler => {
                let by = if action == Action::Warmer { 0.5 } else { -0.5 };
                let water = self.outlook.trial.water_c.or(self.sheet.water_c);
                let water = water.unwrap_or(USUAL_WATER) + by;
                self.outlook.trial.water_c = Some(water.clamp(*WATERS.start(), *WATERS.end()));
                self.outlook.stale = true;
            }
            Action::DrainLater | Action::DrainEarlier => {
                let by = if action == Action::DrainLater { 1 } else { -1 };
                self.outlook.trial.drain_later += by;
                self.outlook.stale = true;
            }
            Action::SampleBefore => self.turn_samples(-1),
            Action::SampleAfter => self.turn_samples(1),
            Action::SecondHere
            | Action::SecondSend
            | Action::SecondOpen
            | Action::SecondTake
            | Action::Settle
            | Action::Practise
            | Action::PractisePainted
            | Action::Standard
            | Action::BlindCall(_)
            | Action::BlindUnread
            | Action::BlindBack
            | Action::BlindOn => {
                self.school.shown = false;
                self.perform_blind(action);
            }
            Action::LabelsOrReaders
            | Action::LabelAnimal
            | Action::LabelSample
            | Action::Train
            | Action::NextLabel
            | Action::PreviousLabel
            | Action::LabelOrder
            | Action::WithdrawLabel
            | Action::Adopt
            | Action::GoBack
            | Action::ReadSampleAgain => self.perform_on_training(action),
            other => self.look(ctx, other),
        }
    }

    /// Stops the jobs, and reading too unless it is only a job that there is to stop.
    fn stop_what_runs(&mut self) {
        let jobs = [FARM, TRAIN, SLIDES];
        let only_jobs =
            self.sheet.unread_from(0).is_empty() && jobs.iter().any(|name| self.jobs.runs(name));
        for name in jobs {
            self.jobs.stop(name);
        }
        self.paused |= !only_jobs;
        self.say(if only_jobs {
            window::STOPPING.to_owned()
        } else {
            window::READING_STOPPED.to_owned()
        });
    }

    /// What was turned may have been a label.
    fn show_labels_again(&mut self) {
        if self.place == Place::Training {
            self.send(Letter::Training);
        }
    }

    /// Makes the made-up farm, in the background, and opens it.
    fn make_farm(&mut self) {
        self.dialog = None;
        let Some(folder) = self.made_up.clone() else {
            return self.trouble(window::NO_MADE_UP_FOLDER.to_owned());
        };
        self.say(window::MAKING_FARM.to_owned());
        let reader = self.looks.reader.clone();
        let reader = if reader.is_empty() {
            window::SOMEBODY.to_owned()
        } else {
            reader
        };
        let started = self.jobs.start(FARM, move |progress, outbox| {
            let deed = match made_up_farm(&folder, &reader, progress) {
                Ok(file) => Deed::Open(Book::File(file)),
                Err(error) => Deed::Trouble(error.to_string()),
            };
            outbox.send(News::Chosen(vec![deed]));
        });
        if let Err(error) = started {
            self.trouble(window::no_thread(&error));
        }
    }

    /// Takes the sample `by` places away into hand, in the order of netting of its pond.
    fn turn_samples(&mut self, by: isize) {
        let ids: Vec<&String> = self
            .farm
            .ponds
            .iter()
            .flat_map(|pond| &pond.samples)
            .map(|line| &line.id)
            .collect();
        let at = ids.iter().position(|id| **id == self.sheet.id);
        let to = at
            .and_then(|at| at.checked_add_signed(by))
            .and_then(|to| ids.get(to));
        match to {
            Some(id) => {
                let letter = Letter::TakeSample((*id).clone());
                self.send(letter);
            }
            None => self.say(window::NO_OTHER_SAMPLE.to_owned()),
        }
    }

    fn ask_outcome(&mut self) {
        let own = |pond: &&PondSheet| pond.samples.iter().any(|line| line.id == self.sheet.id);
        let Some(pond) = self.farm.ponds.iter().find(own) else {
            return self.say(window::NO_SAMPLE.to_owned());
        };
        self.dialog = Some(Dialog::Outcome(Box::new(OutcomeForm {
            pond: pond.id.clone(),
            pond_name: pond.name.clone(),
            sample: Some(self.sheet.id.clone()),
            harvested: Session::now().date_and_hour(),
            checked: 60,
            soft: 0,
            note: String::new(),
        })));
    }

    fn resize(&mut self, ctx: &Context, size: f32) {
        self.looks.size = size.clamp(SIZES[0], SIZES[1]);
        self.keep_looks();
        ctx.set_zoom_factor(self.looks.size);
    }

    fn close(&mut self) {
        if self.dialog.take().is_none() && !self.leave_blind() {
            self.outlook.form = None;
            self.said = None;
            self.clicks = None;
            self.correcting = None;
            self.bench.eye.lens = false;
        }
    }

    fn watch_or_not(&mut self) {
        if self.watched.take().is_some() {
            self.jobs.stop(WATCH);
            self.say(window::WATCH_ENDED.to_owned());
        } else {
            let path = self.looks.watched.as_ref();
            self.dialog = Some(Dialog::Path {
                purpose: Purpose::Watch,
                path: path
                    .map(|path| path.display().to_string())
                    .unwrap_or_default(),
            });
        }
    }

    /// Lets the system's dialog ask for files or a folder, in a thread of its own.
    fn choose(&mut self, purpose: Purpose) {
        self.dialog = None;
        let started = self.jobs.start(CHOOSE, move |_, outbox| {
            let dialog = rfd::FileDialog::new();
            let paths = match purpose {
                Purpose::Take => dialog.pick_files().unwrap_or_default(),
                Purpose::TakeFolder | Purpose::Watch => dialog.pick_folder().into_iter().collect(),
                Purpose::Open
                | Purpose::Merge
                | Purpose::ReaderSlides
                | Purpose::OpenSlides
                | Purpose::TakeAnswer
                | Purpose::Labels
                | Purpose::ModelIn => dialog.pick_file().into_iter().collect(),
                Purpose::Begin | Purpose::Table | Purpose::Page | Purpose::ModelOut => {
                    dialog.save_file().into_iter().collect()
                }
            };
            let deed = if purpose == Purpose::Take {
                (!paths.is_empty()).then_some(Deed::Take(paths))
            } else {
                paths.into_iter().next().map(|path| purpose.deed(path))
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
        self.send(letter(id));
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
            self.send(Letter::Assign { photo, animal });
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
