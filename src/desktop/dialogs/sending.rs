//! Sending slides to a second reader: who is to read, and the file.

use crate::desktop::deeds::Deed;
use crate::desktop::desk::FarmSheet;
use crate::desktop::desk::beside;
use crate::texts::window;
use egui::Button;
use egui::Key;
use egui::TextEdit;
use egui::Ui;
use std::path::Path;

/// Shows the form.
pub fn show(
    ui: &mut Ui,
    to: &mut String,
    file: &mut String,
    farm: &FarmSheet,
) -> (Vec<Deed>, bool) {
    ui.heading(window::SEND_SLIDES);
    ui.label(window::SEND_WORDS);
    let mut entered = false;
    for (label, text, first) in [
        (window::SEND_TO, &mut *to, true),
        (window::SEND_FILE, &mut *file, false),
    ] {
        let label = ui.label(label);
        let field = TextEdit::singleline(text).desired_width(f32::INFINITY);
        let field = ui.add(field).labelled_by(label.id);
        let enter = field.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
        entered |= enter;
        if first && !enter && ui.memory(|memory| memory.focused().is_none()) {
            field.request_focus();
        }
    }
    let ready = !to.trim().is_empty() && !file.trim().is_empty();
    let place = beside(&farm.file, Path::new(file.trim()));
    if ready {
        ui.weak(window::will_lie_in(&place));
    }
    let pressed = ui.add_enabled(ready, Button::new(window::SEND)).clicked();
    let done = ready && (pressed || entered);
    let deed = done.then(|| Deed::SendSlides {
        to: to.trim().to_owned(),
        file: place,
    });
    (deed.into_iter().collect(), done)
}
