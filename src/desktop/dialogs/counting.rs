//! Counting by eye: no photo at all, one key an animal.

use crate::desktop::actions::Action;
use crate::desktop::deeds::Deed;
use crate::desktop::dialogs::Seen;
use crate::desktop::places::action_button;
use crate::desktop::theme;
use crate::moult::Stage;
use crate::tally::LimitTally;
use crate::tally::Settings;
use crate::tally::Tested;
use crate::texts;
use crate::texts::window;
use crate::units::Probability;
use crate::workflow::planning::one_by_one;
use egui::Button;
use egui::Key;
use egui::Modifiers;
use egui::RichText;
use egui::Ui;
use egui::vec2;

/// The key of each stage.
const KEYS: [Key; 9] = [
    Key::A,
    Key::B,
    Key::C,
    Key::Num0,
    Key::Num1,
    Key::Num2,
    Key::Num3,
    Key::Num4,
    Key::E,
];

/// Shows the counter.
pub fn show(ui: &mut Ui, seen: Seen<'_>) -> (Vec<Deed>, bool) {
    let mut deeds = Vec::new();
    ui.heading(window::COUNTING);
    ui.label(window::COUNTING_WORDS);
    let dark = ui.visuals().dark_mode;
    ui.horizontal_wrapped(|ui| {
        for (stage, key) in Stage::ALL.into_iter().zip(KEYS) {
            let count = seen
                .counted
                .and_then(|counted| counted.tally.counts.get(&stage).copied())
                .unwrap_or(0);
            let words = RichText::new(window::counted(stage, count)).color(theme::words_on(stage));
            let button = Button::new(words)
                .fill(theme::stage(stage, dark))
                .min_size(vec2(58.0, 44.0));
            let response = ui.add(button);
            let name = window::count_one(stage);
            response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, true, &name));
            let pressed = ui.input_mut(|input| input.count_and_consume_key(Modifiers::NONE, key));
            let times = pressed + usize::from(response.clicked());
            deeds.extend(std::iter::repeat_n(Deed::Count(stage), times));
        }
    });
    if let Some(counted) = seen.counted.filter(|counted| counted.tally.called > 0) {
        ui.strong(texts::tally::netted(&counted.tally));
        for (group, line) in [
            (window::MOULTING, &counted.tally.moulting),
            (window::SOFT, &counted.tally.soft),
        ] {
            ui.label(window::running(group, line.count, line.of, line.limit));
            stop_rule(ui, group, line, &counted.settings);
        }
        ui.label(texts::tally::answer(counted.tally.at_netting));
    }
    let undo = action_button(ui, Action::Undo).clicked()
        || ui.input_mut(|input| input.consume_key(Modifiers::NONE, Key::Backspace));
    if undo {
        deeds.push(Deed::Do(Action::Undo));
    }
    (deeds, false)
}

/// Whether counting may stop: the sequential plan of the limit.
fn stop_rule(ui: &mut Ui, group: &str, line: &LimitTally, settings: &Settings) {
    let (count, of) = (line.count, line.of);
    let Ok(plan) = one_by_one(Probability::clamped(line.limit), settings) else {
        return;
    };
    let within = plan.within_up_to(of).is_some_and(|most| count <= most);
    let over = plan.over_from(of).is_some_and(|least| count >= least);
    let settled = match (within, over) {
        (_, true) => Tested::Over,
        (true, false) => Tested::Within,
        (false, false) => Tested::Open,
    };
    ui.weak(window::stop_rule(group, settled));
}
