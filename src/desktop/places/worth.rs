//! The value of waiting: the farm's own numbers, and what each night brings by them.

use crate::decision::waiting::NightWorth;
use crate::decision::waiting::Worth;
use crate::desktop::deeds::Deed;
use crate::desktop::places::side::notice;
use crate::texts;
use crate::texts::window;
use crate::workflow::logbook::counting::Counted;
use egui::Button;
use egui::DragValue;
use egui::Frame;
use egui::Grid;
use egui::Ui;

/// The numbers while they are being entered.
#[derive(Debug, Clone, PartialEq)]
pub struct WorthForm {
    /// The numbers.
    pub worth: Worth,
    /// Whether numbers are kept already.
    kept: bool,
    /// Whether it was shown before.
    shown: bool,
}

impl WorthForm {
    /// The numbers that are kept; else none of them: no price has a default.
    pub fn of(counted: Option<&Counted>) -> Self {
        let kept = counted.and_then(|counted| counted.worth);
        let nothing = Worth {
            biomass: 0.0,
            survival_per_day: 1.0,
            growth_per_day: 0.0,
            price: 0.0,
            soft_discount: 0.0,
            feed_per_day: 0.0,
            other_per_day: 0.0,
        };
        Self {
            worth: kept.unwrap_or(nothing),
            kept: kept.is_some(),
            shown: false,
        }
    }
}

/// Shows the form; `true` beside the deeds closes it.
pub fn show(ui: &mut Ui, form: &mut WorthForm) -> (Vec<Deed>, bool) {
    let mut deeds = Vec::new();
    let mut done = false;
    Frame::group(ui.style()).show(ui, |ui| {
        ui.strong(window::WORTH_HEADING);
        ui.weak(window::WORTH_WORDS);
        Grid::new("worth").num_columns(4).show(ui, |ui| {
            let [biomass, price, survival, growth, discount, feed, other] = window::WORTH_FIELDS;
            let worth = &mut form.worth;
            let first = amount(ui, biomass, &mut worth.biomass);
            if !form.shown {
                form.shown = true;
                first.request_focus();
            }
            amount(ui, price, &mut worth.price);
            ui.end_row();
            percent(ui, survival, &mut worth.survival_per_day, 100.0);
            percent(ui, growth, &mut worth.growth_per_day, 50.0);
            ui.end_row();
            percent(ui, discount, &mut worth.soft_discount, 100.0);
            amount(ui, feed, &mut worth.feed_per_day);
            ui.end_row();
            amount(ui, other, &mut worth.other_per_day);
            ui.end_row();
        });
        let sound = form.worth.checked();
        if let Err(wrong) = &sound {
            notice(ui, &wrong.to_string());
        }
        let ready = sound.is_ok() && form.worth.biomass > 0.0 && form.worth.price > 0.0;
        ui.horizontal(|ui| {
            let button = Button::new(window::WORTH_KEEP);
            if ui.add_enabled(ready, button).clicked() {
                deeds.push(Deed::Worth(Some(Box::new(form.worth))));
                done = true;
            }
            if form.kept && ui.button(window::WORTH_LEAVE_OUT).clicked() {
                deeds.push(Deed::Worth(None));
                done = true;
            }
            if ui.button(window::LEAVE).clicked() {
                done = true;
            }
        });
    });
    (deeds, done)
}

fn amount(ui: &mut Ui, label: &str, value: &mut f64) -> egui::Response {
    let label = ui.label(label);
    let drag = DragValue::new(value).range(0.0..=1e9).max_decimals(3);
    ui.add(drag).labelled_by(label.id)
}

fn percent(ui: &mut Ui, label: &str, part: &mut f64, most: f64) {
    let label = ui.label(label);
    let mut shown = 100.0 * *part;
    let drag = DragValue::new(&mut shown)
        .range(0.0..=most)
        .speed(0.1)
        .max_decimals(2)
        .suffix(window::PERCENT);
    if ui.add(drag).labelled_by(label.id).changed() {
        *part = shown / 100.0;
    }
}

/// What each night brings.
pub fn table(ui: &mut Ui, waiting: &[NightWorth]) {
    ui.strong(window::WORTH_HEADING);
    Grid::new("waiting")
        .striped(true)
        .spacing([18.0, 3.0])
        .show(ui, |ui| {
            for heading in window::WORTH_COLUMNS {
                ui.strong(heading);
            }
            ui.end_row();
            for night in waiting {
                ui.label(night.night.to_string());
                ui.label(window::worth(night.value));
                ui.label(window::gain(night.gain));
                ui.end_row();
            }
        });
    ui.weak(texts::forecast::STEPWISE);
}
