//! The searchable list of actions.

use crate::desktop::actions;
use crate::desktop::actions::Where;
use crate::desktop::deeds::Deed;
use crate::desktop::places::key_name;
use crate::texts::window;
use egui::Button;
use egui::Key;
use egui::Modifiers;
use egui::RichText;
use egui::ScrollArea;
use egui::TextEdit;
use egui::Ui;
use egui::vec2;

/// Shows the list; Enter takes the row, which the arrows move.
pub fn show(ui: &mut Ui, search: &mut String, row: &mut usize) -> (Vec<Deed>, bool) {
    let mut chosen = None;
    let heading = ui.heading(window::LIST_OF_ACTIONS);
    let (up, down, enter) = ui.input_mut(|input| {
        let none = Modifiers::NONE;
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
    let high = (0.62 * ctx.content_rect().height()).max(120.0);
    ScrollArea::vertical()
        .max_height(high)
        .min_scrolled_height(high)
        .show(ui, |ui| {
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
