//! What lies on top of the window.

pub mod counting;

pub mod list;

pub mod outcome;

pub mod sample;

pub mod scale;

pub mod sending;

pub mod settings;

pub mod standard;

pub mod welcome;

use crate::desktop::actions::Action;
use crate::desktop::deeds::Deed;
use crate::desktop::desk::FarmSheet;
use crate::desktop::desk::SampleForm;
use crate::desktop::desk::SampleSheet;
use crate::desktop::keeper::WHYS;
use crate::texts::window;
use crate::workflow::logbook::counting::Counted;
use egui::Button;
use egui::Context;
use egui::Id;
use egui::Key;
use egui::Modal;
use egui::Modifiers;
use egui::ScrollArea;
use egui::TextEdit;
use egui::Ui;
use std::path::PathBuf;

pub use crate::desktop::dialogs::outcome::OutcomeForm;
pub use crate::desktop::dialogs::scale::ScaleForm;
pub use crate::desktop::dialogs::settings::SettingsForm;
pub use crate::desktop::dialogs::standard::StandardForm;

/// What lies on top.
#[derive(Debug, Clone, PartialEq)]
pub enum Dialog {
    /// The list of actions.
    Actions {
        /// What is searched.
        search: String,
        /// Row that Enter takes.
        row: usize,
    },
    /// Why the animal in hand stays unread.
    Refuse,
    /// A note on the animal in hand.
    Note(String),
    /// Why a label is withdrawn.
    WithdrawLabel(String),
    /// A path to be typed.
    Path {
        /// What it is for.
        purpose: Purpose,
        /// What is written so far.
        path: String,
    },
    /// Sending slides to a second reader.
    Send {
        /// Who is to read.
        to: String,
        /// The file.
        file: String,
    },
    /// What a practice round must reach.
    Standard(StandardForm),
    /// The first start.
    Welcome,
    /// A new sample.
    Sample(Box<SampleForm>),
    /// Counting by eye.
    Counting,
    /// Microscope profiles.
    Scale(Box<ScaleForm>),
    /// Settings.
    Settings(Box<SettingsForm>),
    /// What a harvest turned out to be.
    Outcome(Box<OutcomeForm>),
}

/// What a path is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// Photos to take.
    Take,
    /// A folder to take.
    TakeFolder,
    /// A folder to watch.
    Watch,
    /// A logbook to open.
    Open,
    /// A logbook to begin.
    Begin,
    /// A table to save.
    Table,
    /// A page to save.
    Page,
    /// Another logbook to take in.
    Merge,
    /// Slides of known truth to take in.
    ReaderSlides,
    /// Slides to open that somebody sent.
    OpenSlides,
    /// An answer to take in.
    TakeAnswer,
    /// A table of labels to take in.
    Labels,
    /// A model file to write.
    ModelOut,
    /// A model file to take in.
    ModelIn,
}

/// What dialogs may look at.
#[derive(Debug, Clone, Copy)]
pub struct Seen<'a> {
    /// The farm.
    pub farm: &'a FarmSheet,
    /// The sample in hand.
    pub sample: &'a SampleSheet,
    /// The same counted.
    pub counted: Option<&'a Counted>,
}

/// Shows a dialog; `true` beside the deeds closes it.
pub fn show(ctx: &Context, dialog: &mut Dialog, seen: Seen<'_>) -> (Vec<Deed>, bool) {
    let mut deeds = Vec::new();
    let mut done = false;
    let room = ctx.content_rect().size();
    let modal = Modal::new(Id::unique("dialog")).show(ctx, |ui| {
        ui.set_width((0.9 * room.x).min(620.0));
        ScrollArea::vertical()
            .max_height(0.82 * room.y)
            .min_scrolled_height(0.82 * room.y)
            .show(ui, |ui| {
                (deeds, done) = content(ui, dialog, seen);
            });
        if ui.button(window::LEAVE).clicked() {
            done = true;
        }
    });
    let close = done || (modal.should_close() && *dialog != Dialog::Welcome);
    (deeds, close)
}

fn content(ui: &mut Ui, dialog: &mut Dialog, seen: Seen<'_>) -> (Vec<Deed>, bool) {
    match dialog {
        Dialog::Actions { search, row } => list::show(ui, search, row),
        Dialog::Refuse => refuse(ui),
        Dialog::Note(note) => {
            let kept = field(ui, window::NOTE_FIELD, note, window::KEEP);
            let deed = kept.then(|| Deed::Note(note.trim().to_owned()));
            (deed.into_iter().collect(), kept)
        }
        Dialog::WithdrawLabel(why) => {
            let given = field(ui, window::WITHDRAW_WHY, why, window::KEEP);
            let kept = given && !why.trim().is_empty();
            let deed = kept.then(|| Deed::WithdrawLabel(why.trim().to_owned()));
            (deed.into_iter().collect(), kept)
        }
        Dialog::Path { purpose, path } => ask_path(ui, *purpose, path),
        Dialog::Send { to, file } => sending::show(ui, to, file, seen.farm),
        Dialog::Standard(form) => standard::show(ui, form),
        Dialog::Welcome => welcome::show(ui),
        Dialog::Sample(form) => sample::show(ui, form, seen),
        Dialog::Counting => counting::show(ui, seen),
        Dialog::Scale(form) => scale::show(ui, form, seen),
        Dialog::Settings(form) => settings::show(ui, form, seen),
        Dialog::Outcome(form) => outcome::show(ui, form),
    }
}

/// A field that has the keyboard, with a button; says whether Enter or the button was pressed.
fn field(ui: &mut Ui, label: &str, text: &mut String, button: &str) -> bool {
    // What is typed before the field has the keyboard is meant for it as well.
    if ui.memory(|memory| memory.focused().is_none()) {
        ui.input_mut(|input| {
            input.events.retain(|event| match event {
                egui::Event::Text(typed) => {
                    text.push_str(typed);
                    false
                }
                _ => true,
            });
        });
    }
    let heading = ui.heading(label);
    let edit = TextEdit::singleline(text).desired_width(f32::INFINITY);
    let edit = ui.add(edit).labelled_by(heading.id);
    let entered = edit.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
    if !entered && ui.memory(|memory| memory.focused().is_none()) {
        edit.request_focus();
    }
    ui.add_space(6.0);
    ui.button(button).clicked() || entered
}

fn ask_path(ui: &mut Ui, purpose: Purpose, path: &mut String) -> (Vec<Deed>, bool) {
    let mut deeds = Vec::new();
    let label = window::PATH_FIELDS[purpose as usize];
    let taken = field(ui, label, path, window::TAKE) && !path.trim().is_empty();
    if taken {
        deeds.push(purpose.deed(PathBuf::from(path.trim())));
    }
    let choose = ui.button(window::CHOOSE).clicked();
    if choose {
        deeds.push(Deed::Choose(purpose));
    }
    (deeds, taken || choose)
}

impl Purpose {
    /// What is done with the path.
    pub fn deed(self, path: PathBuf) -> Deed {
        use crate::desktop::keeper::Book;
        match self {
            Self::Take | Self::TakeFolder => Deed::Take(vec![path]),
            Self::Watch => Deed::WatchFolder(path),
            Self::Open => Deed::Open(Book::File(path)),
            Self::Begin => Deed::Open(Book::New(path)),
            Self::Table => Deed::SaveTable(path),
            Self::Page => Deed::SavePage(path),
            Self::Merge => Deed::Merge(path),
            Self::ReaderSlides => Deed::ReaderSlides(Some(path)),
            Self::OpenSlides => Deed::OpenSlides(path),
            Self::TakeAnswer => Deed::TakeAnswer(path),
            Self::Labels => Deed::ImportLabels(path),
            Self::ModelOut => Deed::ExportModel(path),
            Self::ModelIn => Deed::ImportModel(path),
        }
    }
}

fn refuse(ui: &mut Ui) -> (Vec<Deed>, bool) {
    let mut deeds = Vec::new();
    ui.heading(window::REFUSE_WHY);
    let keys = [
        Key::Num1,
        Key::Num2,
        Key::Num3,
        Key::Num4,
        Key::Num5,
        Key::Num6,
        Key::Num7,
    ];
    for (why, key) in WHYS.into_iter().zip(keys) {
        let button = Button::new(window::unread_because(why)).shortcut_text(key.symbol_or_name());
        let pressed = ui.input_mut(|input| input.consume_key(Modifiers::NONE, key));
        // One reason: what is pressed after it is meant for the next animal.
        if (ui.add(button).clicked() || pressed) && deeds.is_empty() {
            deeds.push(Deed::Refuse(why));
        }
    }
    ui.add_space(6.0);
    let done = !deeds.is_empty();
    (deeds, done)
}

/// The dialog that asks for a path.
pub const fn path(purpose: Purpose) -> Dialog {
    let path = String::new();
    Dialog::Path { purpose, path }
}

/// The dialog that an action opens.
pub fn of(action: Action, note: &str) -> Option<Dialog> {
    let path = |purpose| Some(path(purpose));
    match action {
        Action::Find => Some(Dialog::Actions {
            search: String::new(),
            row: 0,
        }),
        Action::Refuse => Some(Dialog::Refuse),
        Action::Note => Some(Dialog::Note(note.to_owned())),
        Action::AddPhotos => path(Purpose::Take),
        Action::AddFolder => path(Purpose::TakeFolder),
        Action::OpenLogbook => path(Purpose::Open),
        Action::NewLogbook => path(Purpose::Begin),
        Action::SaveTable => path(Purpose::Table),
        Action::SavePage => path(Purpose::Page),
        Action::MergeLogbook => path(Purpose::Merge),
        Action::ImportLabels => path(Purpose::Labels),
        Action::ExportModel => path(Purpose::ModelOut),
        Action::ImportModel => path(Purpose::ModelIn),
        Action::CountByEye => Some(Dialog::Counting),
        _ => None,
    }
}
