//! The place of all ponds: their samples in time, verdict against outcome, search, export.

use crate::desktop::actions::Action;
use crate::desktop::deeds::Deed;
use crate::desktop::desk::FarmSheet;
use crate::desktop::desk::PondSheet;
use crate::desktop::desk::SampleSheet;
use crate::desktop::keeper::FoundSheet;
use crate::desktop::places::action_button;
use crate::desktop::theme;
use crate::texts::window;
use egui::Button;
use egui::Grid;
use egui::ScrollArea;
use egui::TextEdit;
use egui::Ui;
use egui_plot::Line;
use egui_plot::LineStyle;
use egui_plot::Plot;
use egui_plot::PlotPoints;

/// What is being searched.
#[derive(Debug, Default)]
pub struct Search {
    /// The words.
    pub words: String,
    /// Whether the field is to have the keyboard.
    pub wanted: bool,
}

/// Shows the place.
pub fn show(
    ui: &mut Ui,
    farm: &FarmSheet,
    sample: &SampleSheet,
    search: &mut Search,
    found: &[FoundSheet],
) -> Vec<Deed> {
    let mut deeds = Vec::new();
    ui.add_space(6.0);
    ui.horizontal_wrapped(|ui| {
        let label = ui.label(window::SEARCH);
        let field = TextEdit::singleline(&mut search.words).desired_width(220.0);
        let response = ui.add(field).labelled_by(label.id);
        if std::mem::take(&mut search.wanted) {
            response.request_focus();
        }
        if response.changed() {
            deeds.push(Deed::Search(search.words.clone()));
        }
        for action in [
            Action::NewSample,
            Action::Outcome,
            Action::SaveTable,
            Action::MergeLogbook,
            Action::OpenLogbook,
        ] {
            if action_button(ui, action).clicked() {
                deeds.push(Deed::Do(action));
            }
        }
    });
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        if !search.words.trim().is_empty() {
            results(ui, found, &mut deeds);
        }
        if farm.ponds.is_empty() {
            ui.label(window::NO_PONDS);
        }
        for pond in &farm.ponds {
            ui.add_space(8.0);
            ui.heading(window::pond_heading(&pond.name, pond.species.as_deref()));
            if !pond.note.is_empty() {
                ui.weak(&pond.note);
            }
            samples(ui, pond, sample, &mut deeds);
            if pond.samples.len() > 1 {
                in_time(ui, pond);
            }
        }
    });
    deeds
}

fn results(ui: &mut Ui, found: &[FoundSheet], deeds: &mut Vec<Deed>) {
    ui.strong(window::found(found.len()));
    for one in found {
        match &one.sample {
            Some(sample) => {
                if ui.button(&one.text).clicked() {
                    deeds.push(Deed::TakeSample(sample.clone()));
                }
            }
            None => {
                ui.label(&one.text);
            }
        }
    }
    ui.separator();
}

/// A row for each sample: what was found, and what the harvest turned out to be.
fn samples(ui: &mut Ui, pond: &PondSheet, sample: &SampleSheet, deeds: &mut Vec<Deed>) {
    Grid::new(("samples", &pond.id))
        .striped(true)
        .spacing([14.0, 4.0])
        .show(ui, |ui| {
            for heading in window::SAMPLE_COLUMNS {
                ui.strong(heading);
            }
            ui.end_row();
            for line in pond.samples.iter().rev() {
                let own = line.id == sample.id;
                let button = Button::selectable(own, &line.netted);
                let response = ui.add(button).on_hover_text(window::TAKE_IN_HAND);
                if response.clicked() {
                    deeds.push(Deed::TakeSample(line.id.clone()));
                }
                ui.label(window::of_animals(line.called, line.animals));
                ui.label(window::share(line.soft));
                ui.label(window::share(line.due));
                ui.label(line.answer.as_deref().unwrap_or(window::NOT_COUNTED));
                ui.label(line.outcome.as_deref().unwrap_or(window::NO_OUTCOME));
                ui.end_row();
            }
        });
}

/// The soft and the due share from sample to sample.
fn in_time(ui: &mut Ui, pond: &PondSheet) {
    let of = |share: fn(&crate::desktop::desk::SampleLine) -> Option<f64>| {
        let points = pond.samples.iter().enumerate();
        let points = points.filter_map(|(i, line)| Some([i as f64 + 1.0, 100.0 * share(line)?]));
        points.collect::<Vec<[f64; 2]>>()
    };
    let dark = ui.visuals().dark_mode;
    let last = pond.samples.len() as f64;
    // Month and day of each netting, as many as there is room for.
    let every = pond.samples.len().div_ceil(12).max(1);
    let days = pond.samples.iter().enumerate().map(|(i, line)| {
        let day = line.netted.get(5..10).filter(|_| i % every == 0);
        day.unwrap_or_default().to_owned()
    });
    let days: Vec<String> = days.collect();
    Plot::new(("in time", &pond.id))
        .height(170.0)
        .allow_drag(false)
        .allow_zoom(false)
        .allow_scroll(false)
        .show_grid([false, true])
        .include_y(0.0)
        .include_y(50.0)
        .include_x(0.5)
        .include_x(last + 0.5)
        .y_grid_spacer(egui_plot::uniform_grid_spacer(|_| [100.0, 50.0, 25.0]))
        .x_grid_spacer(egui_plot::uniform_grid_spacer(|_| [1e4, 1e2, 1.0]))
        .x_axis_formatter(move |mark, _| {
            let at = (mark.value.round() as usize).checked_sub(1);
            let whole = (mark.value - mark.value.round()).abs() < 1e-6;
            let day = at.filter(|_| whole).and_then(|at| days.get(at));
            day.cloned().unwrap_or_default()
        })
        .y_axis_formatter(|mark, _| format!("{:.0}", mark.value))
        .x_axis_label(window::SAMPLES_IN_TIME)
        .y_axis_label(window::PERCENT_SIGN)
        .legend(egui_plot::Legend::default())
        .show(ui, |plot| {
            // Soft is dashed and due is full, so that colour is not alone.
            let soft = Line::new(window::SOFT, PlotPoints::from(of(|line| line.soft)))
                .color(theme::ink(dark).notice)
                .style(LineStyle::dashed_dense())
                .width(2.5);
            let due = Line::new(window::DUE, PlotPoints::from(of(|line| line.due)))
                .color(theme::ink(dark).chosen)
                .width(2.5);
            plot.line(soft);
            plot.line(due);
        });
}
