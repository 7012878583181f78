//! A new sample in a few fields, with the plan's number of animals and the cautions beside it.

use crate::cycle::species::Species;
use crate::desktop::deeds::Deed;
use crate::desktop::desk::SampleForm;
use crate::desktop::dialogs::Seen;
use crate::records::words::Amount;
use crate::records::words::Caught;
use crate::tally::fewest_to_clear;
use crate::texts::cautions;
use crate::texts::window;
use egui::ComboBox;
use egui::DragValue;
use egui::Grid;
use egui::RichText;
use egui::TextEdit;
use egui::Ui;

/// Shows the form.
pub fn show(ui: &mut Ui, form: &mut SampleForm, seen: Seen<'_>) -> (Vec<Deed>, bool) {
    let new = form.changes.is_none();
    ui.heading(if new {
        window::NEW_SAMPLE
    } else {
        window::CHANGE_SAMPLE
    });
    Grid::new("sample").num_columns(2).show(ui, |ui| {
        pond(ui, form, seen);
        text(ui, window::NETTED, &mut form.netted);
        number(ui, window::WEIGHT, &mut form.weight_g, 14.0, 0.1);
        number(ui, window::WATER, &mut form.water_c, 28.0, 0.1);
        species(ui, form);
        if new {
            let label = ui.label(window::ANIMALS_WANTED);
            ui.add(DragValue::new(&mut form.animals).range(1..=500))
                .labelled_by(label.id);
            ui.end_row();
            catch(ui, form);
            shells(ui, form);
        }
        text(ui, window::HARVEST, &mut form.harvest);
        number(ui, window::DRAIN_HOURS, &mut form.drain_hours, 24.0, 1.0);
        if new {
            text(ui, window::SAMPLE_NOTE, &mut form.note);
        }
    });
    if new {
        plan(ui, form, seen);
    }
    let wrong = [form.netted_stamp().err(), form.harvest_stamp().err()];
    for wrong in wrong.iter().flatten() {
        crate::desktop::places::side::notice(ui, wrong);
    }
    let sound = wrong.iter().all(Option::is_none) && !form.pond.trim().is_empty();
    ui.add_space(4.0);
    let entered = form.entered && sound;
    form.entered = false;
    let button = egui::Button::new(if new { window::BEGIN } else { window::KEEP });
    let begun = ui.add_enabled(sound, button).clicked() || entered;
    ui.separator();
    ui.strong(window::CAUTIONS);
    ui.label(RichText::new(cautions::DEFER).small());
    for caution in cautions::SAMPLING.into_iter().chain(cautions::BENCH) {
        ui.label(RichText::new(caution).small());
    }
    let deed = begun.then(|| Deed::NewSample(Box::new(form.clone())));
    (deed.into_iter().collect(), begun)
}

fn text(ui: &mut Ui, label: &str, text: &mut String) {
    let label = ui.label(label);
    ui.add(TextEdit::singleline(text).desired_width(260.0))
        .labelled_by(label.id);
    ui.end_row();
}

/// A number that may be unknown.
fn number(ui: &mut Ui, label: &str, value: &mut Option<f64>, usual: f64, step: f64) {
    let mut known = value.is_some();
    ui.checkbox(&mut known, label);
    let mut own = value.unwrap_or(usual);
    let drag = DragValue::new(&mut own)
        .speed(step)
        .range(0.0..=1000.0)
        .max_decimals(2);
    let response = ui.add_enabled(known, drag);
    response.widget_info(|| {
        let mut info = egui::WidgetInfo::drag_value(known, own);
        info.label = Some(label.to_owned());
        info
    });
    ui.end_row();
    *value = known.then_some(own);
}

fn pond(ui: &mut Ui, form: &mut SampleForm, seen: Seen<'_>) {
    let label = ui.label(window::POND);
    ui.horizontal(|ui| {
        let field = TextEdit::singleline(&mut form.pond).desired_width(180.0);
        let response = ui.add(field).labelled_by(label.id);
        if !form.shown {
            form.shown = true;
            response.request_focus();
        }
        let enter = ui.input(|input| input.key_pressed(egui::Key::Enter));
        form.entered |= response.lost_focus() && enter;
        if !seen.farm.ponds.is_empty() {
            ComboBox::from_id_salt("ponds")
                .selected_text(window::KNOWN_PONDS)
                .show_ui(ui, |ui| {
                    for pond in &seen.farm.ponds {
                        if ui
                            .selectable_label(pond.name == form.pond, &pond.name)
                            .clicked()
                        {
                            form.pond.clone_from(&pond.name);
                            form.species.clone_from(&pond.species);
                            if let Some(last) = pond.samples.last() {
                                form.weight_g = last.weight_g.or(form.weight_g);
                                form.water_c = last.water_c.or(form.water_c);
                            }
                        }
                    }
                })
                .response
                .labelled_by(label.id);
        }
    });
    ui.end_row();
}

fn species(ui: &mut Ui, form: &mut SampleForm) {
    let label = ui.label(window::SPECIES);
    let shown = form
        .species
        .clone()
        .unwrap_or_else(|| window::NOT_NOTED.to_owned());
    ComboBox::from_id_salt("species")
        .selected_text(shown)
        .show_ui(ui, |ui| {
            ui.selectable_value(&mut form.species, None, window::NOT_NOTED);
            for species in Species::ALL {
                let name = species.name();
                ui.selectable_value(&mut form.species, Some(name.to_owned()), name);
            }
        })
        .response
        .labelled_by(label.id);
    ui.end_row();
}

fn catch(ui: &mut Ui, form: &mut SampleForm) {
    ui.label(window::CAUGHT);
    ui.horizontal(|ui| {
        ui.radio_value(&mut form.catch, Caught::Net, window::WITH_NET);
        ui.radio_value(&mut form.catch, Caught::FeedTray, window::ON_FEED_TRAY);
    });
    ui.end_row();
}

fn shells(ui: &mut Ui, form: &mut SampleForm) {
    ui.label(window::SHED_SHELLS);
    ui.horizontal(|ui| {
        let amounts = [
            None,
            Some(Amount::None),
            Some(Amount::Few),
            Some(Amount::Many),
        ];
        for (amount, words) in amounts.into_iter().zip(window::AMOUNTS) {
            ui.radio_value(&mut form.shed_shells, amount, words);
        }
    });
    ui.end_row();
}

/// What so many animals can show, said before the netting.
fn plan(ui: &mut Ui, form: &SampleForm, seen: Seen<'_>) {
    let limits = &seen.farm.limits;
    let groups = [
        (window::MOULTING, limits.moulting_limit),
        (window::SOFT, limits.soft_limit),
    ];
    for (group, limit) in groups {
        let fewest = fewest_to_clear(limit, limits.confidence, limits.design_effect);
        if let Some(fewest) = fewest {
            let enough = form.animals as u64 >= fewest;
            ui.label(window::plan(group, limit.get(), fewest, enough));
        }
    }
}
