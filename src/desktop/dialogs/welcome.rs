//! The first start: two ways in.

use crate::desktop::actions::Action;
use crate::desktop::deeds::Deed;
use crate::desktop::places::action_button;
use crate::texts::readings::NO_REAL_MICROGRAPH;
use crate::texts::window;
use egui::Ui;

/// Shows the welcome.
pub fn show(ui: &mut Ui) -> (Vec<Deed>, bool) {
    let mut deeds = Vec::new();
    ui.heading(window::WELCOME);
    ui.label(window::WELCOME_WORDS);
    ui.add_space(6.0);
    for (action, words) in [
        (Action::MadeUpFarm, window::WELCOME_MADE_UP),
        (Action::NewLogbook, window::WELCOME_NEW),
        (Action::OpenLogbook, window::WELCOME_OPEN),
        (Action::SecondOpen, window::WELCOME_SLIDES),
    ] {
        ui.horizontal_wrapped(|ui| {
            if action_button(ui, action).clicked() {
                deeds.push(Deed::Do(action));
            }
            ui.label(words);
        });
    }
    ui.add_space(6.0);
    ui.weak(NO_REAL_MICROGRAPH);
    let done = !deeds.is_empty();
    (deeds, done)
}
