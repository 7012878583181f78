//! What a practice round must reach to earn its line in the farm's records.

use crate::desktop::deeds::Deed;
use crate::moult::Stage;
use crate::texts::window;
use crate::workflow::practice::MOST_SLIDES;
use crate::workflow::practice::score::Standard;
use egui::Button;
use egui::DragValue;
use egui::Grid;
use egui::Ui;

/// The standard as it is, and as it is being set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StandardForm {
    /// As it is.
    pub stands: Standard,
    /// As it is being set.
    pub wanted: Standard,
}

impl StandardForm {
    /// The standard as it is.
    pub const fn of(stands: Standard) -> Self {
        Self {
            stands,
            wanted: stands,
        }
    }
}

/// Shows the form.
pub fn show(ui: &mut Ui, form: &mut StandardForm) -> (Vec<Deed>, bool) {
    ui.heading(window::STANDARD);
    ui.label(window::STANDARD_WORDS);
    let wanted = &mut form.wanted;
    Grid::new("standard").num_columns(2).show(ui, |ui| {
        for (label, value, most) in [
            (window::STANDARD_SLIDES, &mut wanted.slides, MOST_SLIDES),
            (
                window::STANDARD_STAGES,
                &mut wanted.stages,
                Stage::PROPOSED.len(),
            ),
        ] {
            let label = ui.label(label);
            ui.add(DragValue::new(value).speed(0.1).range(1..=most))
                .labelled_by(label.id);
            ui.end_row();
        }
        let label = ui.label(window::STANDARD_KAPPA);
        ui.add(
            DragValue::new(&mut wanted.quadratic_kappa)
                .speed(0.005)
                .range(0.0..=1.0)
                .fixed_decimals(2),
        )
        .labelled_by(label.id);
        ui.end_row();
        percent(ui, window::STANDARD_SOFT, &mut wanted.soft_errors);
        percent(ui, window::STANDARD_DUE, &mut wanted.due_errors);
        percent(ui, window::STANDARD_NOT_TOLD, &mut wanted.not_told);
    });
    ui.weak(window::STANDARD_FROM_NOW);
    let mut set = false;
    ui.horizontal(|ui| {
        let other = form.wanted != form.stands;
        set = ui
            .add_enabled(other, Button::new(window::STANDARD_SET_BUTTON))
            .clicked();
        let usual = Standard::default();
        let unusual = form.wanted != usual;
        if ui
            .add_enabled(unusual, Button::new(window::STANDARD_USUAL))
            .clicked()
        {
            form.wanted = usual;
        }
    });
    let deed = set.then_some(Deed::Standard(form.wanted));
    (deed.into_iter().collect(), set)
}

fn percent(ui: &mut Ui, label: &str, share: &mut f64) {
    let label = ui.label(label);
    let mut percent = 100.0 * *share;
    let drag = DragValue::new(&mut percent)
        .speed(0.2)
        .range(0.0..=100.0)
        .max_decimals(1)
        .suffix(window::PERCENT);
    if ui.add(drag).labelled_by(label.id).changed() {
        *share = percent / 100.0;
    }
    ui.end_row();
}
