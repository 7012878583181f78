//! Two models on the same held-back animals: figures, reliability plot, confusion, advice.

use crate::desktop::theme;
use crate::desktop::training::Trained;
use crate::moult::Stage;
use crate::stage::comparison::Side;
use crate::texts;
use crate::texts::window;
use egui::Color32;
use egui::Grid;
use egui::Rect;
use egui::RichText;
use egui::Sense;
use egui::Shape;
use egui::Stroke;
use egui::Ui;
use egui::vec2;
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
    for line in &trained.left_out {
        ui.label(line);
    }
    // Without an animal that neither has seen there is nothing to plot.
    if comparison.animals > 0 {
        figures(ui, &trained.names, sides);
        ui.label(texts::training::paired(comparison));
        ui.add_space(6.0);
        ui.horizontal_wrapped(|ui| {
            ui.vertical(|ui| reliability(ui, &trained.names, sides));
            for (name, side) in trained.names.iter().zip(sides) {
                ui.vertical(|ui| confusion(ui, name, side));
            }
        });
    }
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
    for (at, role) in window::ROLES.into_iter().enumerate().rev() {
        sample(ui, &window::role(role, &names[at]), inks[at], at == 0);
    }
    ui.weak(window::RELIABILITY_HINT);
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

/// A line of the legend: a short piece of the curve with its mark, dashed and square or full and
/// round, and its name.
fn sample(ui: &mut Ui, name: &str, ink: Color32, dashed: bool) {
    ui.horizontal(|ui| {
        let (area, _) = ui.allocate_exact_size(vec2(34.0, 12.0), Sense::hover());
        let ends = [area.left_center(), area.right_center()];
        let stroke = Stroke::new(2.0, ink);
        let painter = ui.painter();
        if dashed {
            painter.extend(Shape::dashed_line(&ends, stroke, 5.0, 3.0));
            let square = Rect::from_center_size(area.center(), vec2(8.0, 8.0));
            painter.rect_filled(square, 0.0, ink);
        } else {
            painter.line_segment(ends, stroke);
            painter.circle_filled(area.center(), 4.0, ink);
        }
        ui.label(name);
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
                    let found = count(said.code());
                    let text = RichText::new(found.to_string());
                    ui.label(match found {
                        0 => text.weak(),
                        _ if said == stage => text.strong(),
                        _ => text,
                    });
                }
                ui.label(count(window::CANNOT_TELL_CODE).to_string());
                ui.end_row();
            }
        });
}
