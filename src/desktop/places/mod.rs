//! The places of the window, a file each. They show values and return deeds.

pub mod compared;

pub mod forecast;

pub mod ponds;

pub mod readers;

pub mod side;

pub mod slides;

pub mod straight;

pub mod tally;

pub mod training;

pub mod tray;

pub mod worth;

use crate::desktop::actions::Action;
use crate::desktop::actions::Entry;
use egui::Button;
use egui::Context;
use egui::Response;
use egui::Ui;

/// The key of an action, as the system writes it.
pub fn key_name(ctx: &Context, entry: &Entry) -> String {
    ctx.format_shortcut(&entry.key)
}

/// A button for an action: its name, its key, and its hint when the pointer rests on it.
pub fn action_button(ui: &mut Ui, action: Action) -> Response {
    let words = action.words();
    let key = action.entry().map(|entry| key_name(ui.ctx(), entry));
    let mut button = Button::new(words.name);
    if let Some(key) = key {
        button = button.shortcut_text(key);
    }
    ui.add(button).on_hover_text(words.hint)
}
