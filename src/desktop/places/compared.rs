//! Two models on the same held-back animals: figures, reliability plot, confusion, advice.

use crate::desktop::theme;
use crate::desktop::training::Trained;
use crate::moult::Stage;
use crate::stage::comparison::Side;
use crate::texts;
use crate::texts::window;
use egui::Grid;
use egui::RichText;
use egui::Ui;
use egui_plot::Line;
use egui_plot::LineStyle;
use egui_plot::MarkerShape;
use egui_plot::Plot;
use egui_plot::PlotPoints;
use egui_plot::Points;

/// Side of the reliability plot.
const PLOT: f32 = 260.0;

/// Shows the comparison.
pub fn show(ui: &mut Ui, trained: &Trained) {
    let comparison = &trained.comparison;
    ui.heading(window::COMPARED_HEADING);
    ui.label(RichText::new(texts::training::advice(comparison.advice)).strong());
    ui.label(texts::training::basis(
        comparison.animals,
        comparison.photos,
        trained.seen_before,
    ));
    let sides = [&comparison.in_use, &comparison.new];
    figures(ui, &trained.names, sides);
    ui.label(texts::training::paired(comparison));
    ui.add_space(6.0);
    ui.horizontal_wrapped(|ui| {
        ui.vertical(|ui| reliability(ui, &trained.names, sides));
        for (name, side) in trained.names.iter().zip(sides) {
            ui.vertical(|ui| confusion(ui, name, side));
        }
    });
    ui.add_space(6.0);
    ui.strong(window::MORE_LABELS_HEADING);
    for line in &trained.gains {
        ui.label(line);
    }
}

fn figures(ui: &mut Ui, names: &[String; 2], sides: [&Side; 2]) {
    let columns = sides.map(texts::training::figures);
    Grid::new("figures")
        .striped(true)
        .spacing([18.0, 4.0])
        .show(ui, |ui| {
            ui.label("");
            for (role, name) in window::ROLES.iter().zip(names) {
                ui.strong(window::role(role, name));
            }
            ui.end_row();
            let rows = columns[0].iter().zip(&columns[1]);
            for (name, (before, after)) in texts::training::FIGURES.iter().zip(rows) {
                ui.label(*name);
                ui.label(before);
                ui.label(after);
                ui.end_row();
            }
        });
}

/// How often the most probable stage was true, by the probability stated for it. The new model is
/// full and round, the one in use dashed and square.
fn reliability(ui: &mut Ui, names: &[String; 2], sides: [&Side; 2]) {
    ui.strong(window::RELIABILITY);
    let ink = theme::ink(ui.visuals().dark_mode);
    let inks = [ink.notice, ink.chosen];
    let styles = [LineStyle::dashed_dense(), LineStyle::Solid];
    let shapes = [MarkerShape::Square, MarkerShape::Circle];
    Plot::new("reliability")
        .width(PLOT)
        .height(PLOT)
        .allow_drag(false)
        .allow_zoom(false)
        .allow_scroll(false)
        .include_x(0.0)
        .include_x(1.0)
        .include_y(0.0)
        .include_y(1.0)
        .x_axis_label(window::STATED)
        .y_axis_label(window::CAME_TRUE)
        .legend(egui_plot::Legend::default())
        .show(ui, |plot| {
            let even = PlotPoints::from(vec![[0.0, 0.0], [1.0, 1.0]]);
            plot.line(
                Line::new(window::HONEST, even)
                    .color(ink.quiet)
                    .style(LineStyle::dotted_loose())
                    .width(1.0),
            );
            for (at, (name, side)) in names.iter().zip(sides).enumerate() {
                let bins: Vec<[f64; 2]> = side
                    .reliability
                    .iter()
                    .map(|bin| [bin.stated, bin.came_true])
                    .collect();
                plot.line(
                    Line::new(name.clone(), PlotPoints::from(bins.clone()))
                        .color(inks[at])
                        .style(styles[at])
                        .width(2.0),
                );
                plot.points(
                    Points::new(name.clone(), PlotPoints::from(bins))
                        .color(inks[at])
                        .shape(shapes[at])
                        .radius(4.0),
                );
                for bin in &side.reliability {
                    let bar = vec![[bin.stated, bin.low], [bin.stated, bin.high]];
                    plot.line(
                        Line::new(name.clone(), PlotPoints::from(bar))
                            .color(inks[at])
                            .width(1.0),
                    );
                }
            }
        });
}

/// Labelled stages down, proposals across.
fn confusion(ui: &mut Ui, name: &str, side: &Side) {
    ui.strong(window::confusion_of(name));
    Grid::new(("confusion", name))
        .striped(true)
        .spacing([8.0, 3.0])
        .show(ui, |ui| {
            ui.weak(window::LABELLED);
            for stage in Stage::PROPOSED {
                ui.strong(stage.code());
            }
            ui.strong(window::CANNOT_TELL_SHORT);
            ui.end_row();
            for stage in Stage::PROPOSED {
                ui.strong(stage.code());
                let row = side.figures.confusion.get(&stage);
                let count = |said: &str| row.and_then(|row| row.get(said)).copied().unwrap_or(0);
                for said in Stage::PROPOSED {
                    let text = RichText::new(count(said.code()).to_string());
                    ui.label(if said == stage { text.strong() } else { text });
                }
                ui.label(count(window::CANNOT_TELL_CODE).to_string());
                ui.end_row();
            }
        });
}
