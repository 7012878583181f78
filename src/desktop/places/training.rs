//! The place of labelled slides and models: the list of labels, the training, and what came of it.

use crate::desktop::actions::Action;
use crate::desktop::deeds::Deed;
use crate::desktop::gallery::Gallery;
use crate::desktop::places::action_button;
use crate::desktop::places::compared;
use crate::desktop::places::readers;
use crate::desktop::training::Order;
use crate::desktop::training::School;
use crate::texts;
use crate::texts::window;
use egui::Button;
use egui::DragValue;
use egui::Grid;
use egui::ProgressBar;
use egui::ScrollArea;
use egui::TextEdit;
use egui::Ui;
use egui::vec2;

/// Most labels that are drawn; the filter finds the others.
const MOST_SHOWN: usize = 200;

/// Shows the place; `running` are the steps done and in all of a training that runs.
pub fn show(
    ui: &mut Ui,
    school: &mut School,
    running: Option<(usize, usize)>,
    gallery: &mut Gallery,
) -> Vec<Deed> {
    let mut deeds = Vec::new();
    ui.add_space(6.0);
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        train(ui, school, running, &mut deeds);
        ui.separator();
        if let Some(trained) = &school.trained {
            compared::show(ui, trained);
            ui.separator();
        }
        models(ui, school, &mut deeds);
        ui.separator();
        labels(ui, school, gallery, &mut deeds);
    });
    deeds
}

fn buttons(ui: &mut Ui, actions: &[Action], deeds: &mut Vec<Deed>) {
    for action in actions {
        if action_button(ui, *action).clicked() {
            deeds.push(Deed::Do(*action));
        }
    }
}

fn train(ui: &mut Ui, school: &mut School, running: Option<(usize, usize)>, deeds: &mut Vec<Deed>) {
    ui.heading(window::TRAIN_HEADING);
    ui.label(window::labels_so_far(school.sheet.labels.len()));
    ui.horizontal_wrapped(|ui| {
        let label = ui.label(window::PAINTED_BESIDE);
        ui.add(DragValue::new(&mut school.painted).range(0..=8))
            .labelled_by(label.id)
            .on_hover_text(window::PAINTED_BESIDE_HINT);
        let label = ui.label(window::OWN_SHARE);
        ui.add(
            DragValue::new(&mut school.share)
                .range(0.05..=1.0)
                .speed(0.01)
                .fixed_decimals(2),
        )
        .labelled_by(label.id)
        .on_hover_text(window::OWN_SHARE_HINT);
    });
    match running {
        Some((done, total)) => {
            ui.horizontal(|ui| {
                let part = done as f32 / total.max(1) as f32;
                ui.add(
                    ProgressBar::new(part)
                        .desired_width(260.0)
                        .text(window::training_step(done, total)),
                );
                buttons(ui, &[Action::StopReading], deeds);
            });
        }
        None => {
            ui.horizontal_wrapped(|ui| buttons(ui, &[Action::Train], deeds));
        }
    }
}

/// The photo of the chosen label beside the stage key: what it was labelled, and what the program
/// believes that was trained without it.
fn chosen_label(ui: &mut Ui, school: &mut School, gallery: &mut Gallery) {
    let Some(line) = school.label().cloned() else {
        if !school.sheet.labels.is_empty() {
            ui.weak(window::CHOOSE_LABEL);
        }
        return;
    };
    if school.eye_of.as_ref() != Some(&line.id) {
        school.eye.fit();
        school.eye_of = Some(line.id.clone());
    }
    let likeliest = school.opinion(&line.id).map(|opinion| opinion.likeliest);
    let wide = (0.5 * ui.available_width()).clamp(240.0, 560.0);
    ui.horizontal_wrapped(|ui| {
        ui.vertical(|ui| {
            if let Some(photo) = &line.shown {
                let label = window::photo_label(&line.animal);
                let place = (photo.hash.as_str(), photo.path.as_path());
                readers::picture(
                    ui,
                    place,
                    vec2(wide, 250.0),
                    &label,
                    Some(&mut school.eye),
                    gallery,
                );
                ui.weak(window::LABEL_PHOTO_HINT);
            }
        });
        let beside = [Some(line.stage), likeliest.filter(|of| *of != line.stage)];
        for (heading, stage) in window::LABEL_BESIDE.into_iter().zip(beside) {
            let Some(stage) = stage else {
                continue;
            };
            ui.vertical(|ui| {
                ui.set_width(230.0);
                ui.strong(heading);
                ui.label(stage.code());
                readers::stage_drawing(ui, stage);
                if let Some(first) = texts::practice::criteria(stage).first() {
                    ui.weak(first);
                }
            });
        }
    });
}

fn models(ui: &mut Ui, school: &School, deeds: &mut Vec<Deed>) {
    let sheet = &school.sheet;
    ui.heading(window::MODELS_HEADING);
    ui.label(texts::labels::in_use(&sheet.in_use));
    for sentence in &sheet.tested {
        ui.label(sentence);
    }
    ui.horizontal_wrapped(|ui| {
        let actions = [
            Action::Adopt,
            Action::GoBack,
            Action::ReadSampleAgain,
            Action::ExportModel,
            Action::ImportModel,
        ];
        buttons(ui, &actions, deeds);
    });
    for name in sheet.models.iter().rev().take(12) {
        ui.horizontal(|ui| {
            ui.monospace(name);
            let own = *name == sheet.in_use;
            let button = Button::new(window::use_model(name));
            if !own && ui.add(button).clicked() {
                deeds.push(Deed::Adopt(name.clone()));
            }
        });
    }
    ui.add_space(6.0);
    ui.strong(texts::training::DRIFT);
    for line in &sheet.drift {
        ui.label(line);
    }
}

fn labels(ui: &mut Ui, school: &mut School, gallery: &mut Gallery, deeds: &mut Vec<Deed>) {
    ui.heading(window::LABELS_HEADING);
    ui.horizontal_wrapped(|ui| {
        let label = ui.label(window::FILTER);
        let field = TextEdit::singleline(&mut school.filter).desired_width(200.0);
        ui.add(field).labelled_by(label.id);
        let actions = [
            Action::LabelOrder,
            Action::WithdrawLabel,
            Action::LabelSample,
            Action::ImportLabels,
        ];
        buttons(ui, &actions, deeds);
    });
    ui.weak(match (school.order, school.trained.is_some()) {
        (Order::Oldest, _) => window::OLDEST_FIRST,
        (Order::Surprising, true) => window::SURPRISING_FIRST,
        (Order::Surprising, false) => window::TRAIN_FIRST,
    });
    chosen_label(ui, school, gallery);
    let lines = school.labels();
    let all = lines.len();
    if all == 0 {
        ui.label(if school.sheet.labels.is_empty() {
            window::NO_LABELS
        } else {
            window::NONE_OF_THESE
        });
        return;
    }
    let mut chosen = None;
    Grid::new("labels")
        .striped(true)
        .spacing([14.0, 4.0])
        .show(ui, |ui| {
            for heading in window::LABEL_COLUMNS {
                ui.strong(heading);
            }
            ui.end_row();
            for line in lines.iter().take(MOST_SHOWN) {
                let own = school.chosen.as_ref() == Some(&line.id);
                let name = window::label_row(line.stage, &line.pond, &line.animal);
                if ui.add(Button::selectable(own, name)).clicked() {
                    chosen = Some(line.id.clone());
                }
                ui.label(&line.photo);
                ui.label(&line.reader);
                ui.label(line.evidence);
                ui.label(&line.given);
                let opinion = school
                    .opinion(&line.id)
                    .map_or_else(String::new, |opinion| {
                        texts::labels::opinion(
                            opinion.of_label,
                            opinion.likeliest.code(),
                            opinion.of_likeliest,
                        )
                    });
                ui.label(opinion);
                ui.end_row();
            }
        });
    if all > MOST_SHOWN {
        ui.weak(window::more_labels(all - MOST_SHOWN));
    }
    if chosen.is_some() {
        school.chosen = chosen;
    }
}
