//! Settings: limits, what counts as soft, the reader, looks.

use crate::desktop::actions::Action;
use crate::desktop::deeds::Deed;
use crate::desktop::desk::FarmSheet;
use crate::desktop::dialogs::Purpose;
use crate::desktop::dialogs::Seen;
use crate::desktop::places::action_button;
use crate::moult::Stage;
use crate::texts::window;
use crate::units::Probability;
use crate::workflow::logbook::farm::FarmLimits;
use egui::Button;
use egui::DragValue;
use egui::Grid;
use egui::TextEdit;
use egui::Ui;
use std::collections::BTreeSet;

/// Days until a shell is rigid, to begin with.
///
/// # Source
/// A trade article has shells rigid in 2 days (Marinho-Jr, panoramadaaquicultura.com.br).
const USUAL_RIGID_DAYS: f64 = 2.0;

/// What is being set.
#[derive(Debug, Clone, PartialEq)]
pub struct SettingsForm {
    /// The person who reads.
    pub reader: String,
    /// The farm's limits.
    pub limits: FarmLimits,
}

impl SettingsForm {
    /// The settings as they are.
    pub fn of(farm: &FarmSheet) -> Self {
        Self {
            reader: farm.reader.clone(),
            limits: farm.limits.clone(),
        }
    }
}

/// Shows the settings.
pub fn show(ui: &mut Ui, form: &mut SettingsForm, seen: Seen<'_>) -> (Vec<Deed>, bool) {
    let mut deeds = Vec::new();
    ui.heading(window::SETTINGS);
    let label = ui.label(window::READER);
    ui.horizontal(|ui| {
        let field = TextEdit::singleline(&mut form.reader).desired_width(340.0);
        ui.add(field).labelled_by(label.id);
        let name = form.reader.trim();
        let other = !name.is_empty() && name != seen.farm.reader;
        if ui
            .add_enabled(other, Button::new(window::READS_NOW))
            .clicked()
        {
            deeds.push(Deed::Reader(name.to_owned()));
        }
    });
    ui.separator();
    ui.strong(window::LIMITS);
    Grid::new("limits").num_columns(2).show(ui, |ui| {
        let limits = &mut form.limits;
        percent(ui, window::MOULTING_LIMIT, &mut limits.moulting_limit);
        percent(ui, window::SOFT_LIMIT, &mut limits.soft_limit);
        percent(ui, window::DUE_LIMIT, &mut limits.due_limit);
        percent(ui, window::CONFIDENCE, &mut limits.confidence);
        let label = ui.label(window::DESIGN_EFFECT);
        let drag = DragValue::new(&mut limits.design_effect)
            .speed(0.1)
            .range(1.0..=10.0);
        ui.add(drag).labelled_by(label.id);
        ui.end_row();
        rigid(ui, &mut limits.rigid_after_days);
        group(ui, window::SOFT_STAGES, &mut limits.soft);
        group(ui, window::MOULTING_STAGES, &mut limits.moulting);
        group(ui, window::DUE_STAGES, &mut limits.due);
    });
    let other = form.limits != seen.farm.limits;
    if ui
        .add_enabled(other, Button::new(window::SET_LIMITS))
        .clicked()
    {
        deeds.push(Deed::Limits(Box::new(form.limits.clone())));
    }
    ui.separator();
    deeds.extend(reader_slides(ui, seen.farm));
    ui.separator();
    ui.strong(window::LOOKS);
    ui.horizontal_wrapped(|ui| {
        let actions = [
            Action::LightOrDark,
            Action::Larger,
            Action::Smaller,
            Action::UsualSize,
            Action::Watch,
        ];
        for action in actions {
            if action_button(ui, action).clicked() {
                deeds.push(Deed::Do(action));
            }
        }
    });
    if !seen.farm.name.is_empty() {
        ui.weak(window::lies_in(&seen.farm.file));
    }
    (deeds, false)
}

/// Soft as days since the moult, in place of the soft stages.
fn rigid(ui: &mut Ui, days: &mut Option<f64>) {
    let mut by_days = days.is_some();
    ui.checkbox(&mut by_days, window::RIGID_AFTER);
    let mut own = days.unwrap_or(USUAL_RIGID_DAYS);
    let drag = DragValue::new(&mut own)
        .speed(0.05)
        .range(0.1..=5.0)
        .suffix(window::DAYS);
    let response = ui.add_enabled(by_days, drag);
    response.widget_info(|| {
        let mut info = egui::WidgetInfo::drag_value(by_days, own);
        info.label = Some(window::RIGID_AFTER.to_owned());
        info
    });
    ui.end_row();
    *days = by_days.then_some(own);
}

/// Slides of known truth, by which the tallies consider the reader's errors.
fn reader_slides(ui: &mut Ui, farm: &FarmSheet) -> Vec<Deed> {
    let mut deeds = Vec::new();
    ui.strong(window::READER_SLIDES);
    ui.weak(window::READER_SLIDES_WORDS);
    ui.horizontal_wrapped(|ui| {
        if let Some((from, slides)) = &farm.reader_slides {
            ui.label(window::reader_slides_from(from, *slides));
            if ui.button(window::READER_SLIDES_LEAVE_OUT).clicked() {
                deeds.push(Deed::ReaderSlides(None));
            }
        }
        if ui.button(window::READER_SLIDES_TAKE).clicked() {
            deeds.push(Deed::Ask(Purpose::ReaderSlides));
        }
    });
    deeds
}

fn percent(ui: &mut Ui, label: &str, share: &mut Probability) {
    let label = ui.label(label);
    let mut percent = 100.0 * share.get();
    let drag = DragValue::new(&mut percent)
        .speed(0.5)
        .range(0.5..=99.5)
        .suffix(window::PERCENT);
    if ui.add(drag).labelled_by(label.id).changed() {
        *share = Probability::clamped(percent / 100.0);
    }
    ui.end_row();
}

fn group(ui: &mut Ui, label: &str, stages: &mut BTreeSet<Stage>) {
    ui.label(label);
    ui.horizontal_wrapped(|ui| {
        for stage in Stage::ALL {
            let mut within = stages.contains(&stage);
            let response = ui.checkbox(&mut within, stage.code());
            let name = window::stage_in_group(stage, label);
            response.widget_info(|| {
                egui::WidgetInfo::selected(egui::Role::CheckBox, true, within, &name)
            });
            if within {
                stages.insert(stage);
            } else {
                stages.remove(&stage);
            }
        }
    });
    ui.end_row();
}
