//! What lies on top of the window: the list of actions, reasons, notes, settings.

use crate::desktop::actions;
use crate::desktop::actions::Action;
use crate::desktop::actions::Where;
use crate::desktop::deeds::Deed;
use crate::desktop::keeper::Why;
use crate::desktop::places::key_name;
use crate::texts::window;
use egui::Button;
use egui::Context;
use egui::Id;
use egui::Key;
use egui::Modal;
use egui::RichText;
use egui::ScrollArea;
use egui::TextEdit;
use egui::Ui;
use egui::vec2;
use std::path::PathBuf;

/// What lies on top.
#[derive(Debug, Clone, PartialEq, Eq)]
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
    /// A path to be typed.
    Path {
        /// What it is for.
        purpose: Purpose,
        /// What is written so far.
        path: String,
    },
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
}

/// Shows a dialog; `true` beside the deeds closes it.
pub fn show(ctx: &Context, dialog: &mut Dialog) -> (Vec<Deed>, bool) {
    let mut deeds = Vec::new();
    let mut done = false;
    let modal = Modal::new(Id::unique("dialog")).show(ctx, |ui| {
        ui.set_width((0.7 * ctx.content_rect().width()).min(560.0));
        match dialog {
            Dialog::Actions { search, row } => {
                (deeds, done) = list_of_actions(ui, search, row);
            }
            Dialog::Refuse => {
                (deeds, done) = refuse(ui);
            }
            Dialog::Note(note) => {
                let kept = field(ui, window::NOTE_FIELD, note, window::KEEP);
                deeds.extend(kept.then(|| Deed::Note(note.trim().to_owned())));
                done = kept;
            }
            Dialog::Path { purpose, path } => {
                let taken = field(ui, window::PATH_FIELD, path, window::TAKE);
                if taken && !path.trim().is_empty() {
                    let path = PathBuf::from(path.trim());
                    deeds.push(match purpose {
                        Purpose::Take | Purpose::TakeFolder => Deed::Take(vec![path]),
                        Purpose::Watch => Deed::WatchFolder(path),
                    });
                    done = true;
                }
                if ui.button(window::CHOOSE).clicked() {
                    deeds.push(Deed::Choose(*purpose));
                }
            }
        }
        if ui.button(window::LEAVE).clicked() {
            done = true;
        }
    });
    let close = done || modal.should_close();
    (deeds, close)
}

/// A field that has the keyboard, with a button; says whether Enter or the button was pressed.
fn field(ui: &mut Ui, label: &str, text: &mut String, button: &str) -> bool {
    let heading = ui.heading(label);
    let edit = ui
        .add(TextEdit::singleline(text).desired_width(f32::INFINITY))
        .labelled_by(heading.id);
    let entered = edit.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
    if !edit.has_focus() && !entered {
        edit.request_focus();
    }
    ui.add_space(6.0);
    ui.button(button).clicked() || entered
}

fn list_of_actions(ui: &mut Ui, search: &mut String, row: &mut usize) -> (Vec<Deed>, bool) {
    let mut chosen = None;
    let heading = ui.heading(window::LIST_OF_ACTIONS);
    let (up, down, enter) = ui.input_mut(|input| {
        let none = egui::Modifiers::NONE;
        (
            input.count_and_consume_key(none, Key::ArrowUp),
            input.count_and_consume_key(none, Key::ArrowDown),
            input.consume_key(none, Key::Enter),
        )
    });
    let field = TextEdit::singleline(search)
        .hint_text(window::SEARCH_FIELD)
        .desired_width(f32::INFINITY);
    let edit = ui.add(field).labelled_by(heading.id);
    if edit.changed() {
        *row = 0;
    }
    edit.request_focus();
    let ctx = ui.ctx().clone();
    let found = actions::find(search, |entry| key_name(&ctx, entry));
    *row = (*row + down)
        .saturating_sub(up)
        .min(found.len().saturating_sub(1));
    if found.is_empty() {
        ui.weak(window::NO_SUCH_ACTION);
    }
    let high = (0.6 * ctx.content_rect().height()).max(120.0);
    ScrollArea::vertical().max_height(high).show(ui, |ui| {
        ui.set_width(ui.available_width());
        for (i, entry) in found.iter().enumerate() {
            let words = entry.action.words();
            let place = match entry.at {
                Where::Everywhere => "",
                Where::In(place) => place.words().name,
            };
            let hint = window::action_line(words.hint, place);
            let button = Button::new((
                RichText::new(words.name).strong(),
                RichText::new(hint).weak().small(),
            ))
            .right_text(key_name(&ctx, entry))
            .selected(i == *row)
            .truncate()
            .min_size(vec2(ui.available_width(), 24.0));
            let response = ui.add(button);
            response.widget_info(|| {
                egui::WidgetInfo::selected(
                    egui::accesskit::Role::Button,
                    true,
                    i == *row,
                    words.name,
                )
            });
            if i == *row && (up > 0 || down > 0) {
                response.scroll_to_me(None);
            }
            if response.clicked() || (enter && i == *row) {
                chosen = Some(entry.action);
            }
        }
    });
    let deeds: Vec<Deed> = chosen.into_iter().map(Deed::Do).collect();
    let done = !deeds.is_empty();
    (deeds, done)
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
    ];
    for ((number, why), key) in Why::ALL.into_iter().enumerate().zip(keys) {
        let button = Button::new(window::why(number)).shortcut_text(key.symbol_or_name());
        let pressed = ui.input_mut(|input| input.consume_key(egui::Modifiers::NONE, key));
        if ui.add(button).clicked() || pressed {
            deeds.push(Deed::Refuse(why));
        }
    }
    ui.add_space(6.0);
    let done = !deeds.is_empty();
    (deeds, done)
}

/// The dialog that an action opens.
pub fn of(action: Action, note: &str) -> Option<Dialog> {
    match action {
        Action::Find => Some(Dialog::Actions {
            search: String::new(),
            row: 0,
        }),
        Action::Refuse => Some(Dialog::Refuse),
        Action::Note => Some(Dialog::Note(note.to_owned())),
        _ => None,
    }
}
