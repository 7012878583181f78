//! What is done in the place Training: labels, the training in the background, models.

use crate::desktop::actions::Action;
use crate::desktop::app::App;
use crate::desktop::app::News;
use crate::desktop::app::TRAIN;
use crate::desktop::deeds::Deed;
use crate::desktop::dialogs::Dialog;
use crate::desktop::keeper::Letter;
use crate::desktop::places::key_name;
use crate::desktop::places::readers;
use crate::desktop::places::training;
use crate::desktop::room;
use crate::desktop::training::Order;
use crate::desktop::training::Trained;
use crate::progress::Progress;
use crate::texts;
use crate::texts::window;
use crate::workflow::farm_training::Wishes;
use crate::workflow::farm_training::train_on_labels;
use crate::workflow::logbook::Session;
use crate::workflow::painted_rows::PaintedStore;
use egui::Button;
use egui::Ui;
use std::path::Path;
use std::sync::Arc;

/// Seed of a training in the window.
const SEED: u64 = 1;

impl App {
    /// Does an action of the place Training.
    pub(in crate::desktop) fn perform_on_training(&mut self, action: Action) {
        self.school.shown = match action {
            Action::LabelsOrReaders => !self.school.shown,
            Action::LabelAnimal => self.school.shown,
            _ => true,
        };
        match action {
            Action::LabelAnimal => {
                let animal = self.bench.animal(&self.sheet).map(|of| of.id.clone());
                match animal {
                    Some(animal) => self.send(Letter::Label(Some(animal))),
                    None => self.say(window::NO_SLIDE.to_owned()),
                }
            }
            Action::LabelSample => self.send(Letter::Label(None)),
            Action::NextLabel => self.school.turn(1),
            Action::PreviousLabel => self.school.turn(-1),
            Action::LabelOrder => {
                self.school.order = match self.school.order {
                    Order::Oldest => Order::Surprising,
                    Order::Surprising => Order::Oldest,
                };
            }
            Action::WithdrawLabel => {
                if self.school.label().is_some() {
                    self.dialog = Some(Dialog::WithdrawLabel(String::new()));
                } else {
                    self.say(window::NO_LABEL_CHOSEN.to_owned());
                }
            }
            Action::Train => self.train(),
            Action::Adopt => match &self.school.trained {
                Some(trained) => {
                    let name = trained.names[1].clone();
                    self.send(Letter::Adopt(name));
                }
                None => self.say(window::NOT_TRAINED.to_owned()),
            },
            Action::GoBack => self.send(Letter::GoBack),
            Action::ReadSampleAgain => self.send(Letter::ReadSampleAgain),
            _ => {}
        }
    }

    /// Draws the place: slides that are read blind before all, else labels or readers.
    pub(in crate::desktop) fn training_ui(&mut self, ui: &mut Ui) -> Vec<Deed> {
        if let Some(room) = &mut self.room {
            return room::show(ui, room, &mut self.gallery);
        }
        ui.horizontal(|ui| {
            let entry = Action::LabelsOrReaders.entry();
            let key = entry.map(|entry| key_name(ui.ctx(), entry));
            for (name, labels) in window::TRAINING_VIEWS.into_iter().zip([false, true]) {
                let own = labels == self.school.shown;
                let mut button = Button::selectable(own, name);
                if let (Some(key), false) = (&key, own) {
                    button = button.shortcut_text(key.as_str());
                }
                let hint = Action::LabelsOrReaders.words().hint;
                if ui.add(button).on_hover_text(hint).clicked() && !own {
                    self.deeds.push(Deed::Do(Action::LabelsOrReaders));
                }
            }
        });
        if self.school.shown {
            let mut running = self.jobs.running();
            let steps = running.find(|(name, _)| *name == TRAIN);
            let steps = steps.map(|(_, steps)| steps);
            return training::show(ui, &mut self.school, steps, &mut self.gallery);
        }
        let (desk, sheet) = (&mut self.readers_desk, &self.readers_sheet);
        readers::show(ui, desk, sheet, &mut self.gallery)
    }

    /// Withdraws the chosen label.
    pub(in crate::desktop) fn withdraw_chosen(&mut self, because: String) {
        if let Some(label) = self.school.label().map(|line| line.id.clone()) {
            self.send(Letter::WithdrawLabel { label, because });
        }
    }

    /// Trains in the background, over the same logbook.
    fn train(&mut self) {
        let file = self.school.sheet.file.clone();
        if file.as_os_str().is_empty() {
            return self.say(window::NO_LOGBOOK.to_owned());
        }
        let reader = self.looks.reader.clone();
        let wishes = Wishes {
            name: window::FARM_MODEL.to_owned(),
            seed: SEED,
            share: self.school.share,
            penalty: None,
            painted: self.school.painted,
            command: window::training_command(SEED),
        };
        let started = self.jobs.start(TRAIN, move |progress, outbox| {
            outbox.send(News::Trained(trained(&file, &reader, &wishes, progress)));
        });
        match started {
            Ok(true) => self.say(window::TRAINING_BEGINS.to_owned()),
            Ok(false) => {}
            Err(error) => self.trouble(window::no_thread(&error)),
        }
    }

    /// Takes in what a training gave.
    pub(in crate::desktop) fn was_trained(&mut self, result: Result<Box<Trained>, String>) {
        match result {
            Ok(trained) => {
                self.school.trained = Some(Arc::new(*trained));
                self.say(window::TRAINED.to_owned());
            }
            Err(why) => self.trouble(why),
        }
        // Photos may have been measured for it, and the new model is kept.
        self.send(Letter::Training);
    }
}

fn trained(
    file: &Path,
    reader: &str,
    wishes: &Wishes,
    progress: &Progress,
) -> Result<Box<Trained>, String> {
    let mut session = Session::open(file, reader).map_err(|error| error.to_string())?;
    let store = PaintedStore::of_user();
    let done = train_on_labels(&mut session, wishes, &store, progress, || {});
    if progress.check().is_err() {
        return Err(window::TRAINING_STOPPED.to_owned());
    }
    let (trained, own) = done.map_err(|error| error.to_string())?;
    let opinions = trained.opinions(&own);
    let gains = &trained.fitted.gains;
    let mut lines: Vec<String> = gains.iter().map(texts::training::gain).collect();
    lines.push(texts::training::most_helpful(gains));
    let mut left_out = Vec::new();
    if !own.refused.is_empty() {
        left_out.push(texts::training::refused(own.refused.len()));
    }
    if !own.missing.is_empty() {
        left_out.push(texts::training::missing(own.missing.len()));
    }
    Ok(Box::new(Trained {
        names: [trained.in_use.clone(), trained.fitted.model.id()],
        comparison: trained.comparison,
        seen_before: trained.seen_before,
        gains: lines,
        left_out,
        opinions: opinions
            .into_iter()
            .map(|(id, opinion)| (id.to_string(), opinion))
            .collect(),
        model: Arc::new(trained.fitted.model),
    }))
}
