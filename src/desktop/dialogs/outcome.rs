//! What a harvest turned out to be.

use crate::desktop::deeds::Deed;
use crate::desktop::desk::stamp;
use crate::desktop::places::side::notice;
use crate::records::ids::PondId;
use crate::records::ids::RowId;
use crate::records::ids::SampleId;
use crate::records::places::Outcome;
use crate::texts::window;
use egui::Button;
use egui::DragValue;
use egui::Grid;
use egui::TextEdit;
use egui::Ui;

/// What is being noted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OutcomeForm {
    /// The pond.
    pub pond: String,
    /// Its name.
    pub pond_name: String,
    /// The sample on which the harvest rested.
    pub sample: Option<String>,
    /// When it was harvested.
    pub harvested: String,
    /// Animals looked at.
    pub checked: i64,
    /// Soft ones among them.
    pub soft: i64,
    /// A note.
    pub note: String,
}

impl OutcomeForm {
    fn outcome(&self) -> Result<Outcome, String> {
        let id = |text: &str| {
            let id: Result<RowId, _> = text.parse();
            id.map_err(|error| error.to_string())
        };
        let note = Some(self.note.trim().to_owned());
        Ok(Outcome {
            pond: PondId::from(id(&self.pond)?),
            sample: self
                .sample
                .as_deref()
                .map(id)
                .transpose()?
                .map(SampleId::from),
            harvested: stamp(&self.harvested)?,
            ended: None,
            animals_checked: Some(self.checked),
            soft_found: Some(self.soft.min(self.checked)),
            harvest_kg: None,
            refused_kg: None,
            note: note.filter(|note| !note.is_empty()),
        })
    }
}

/// Shows the form.
pub fn show(ui: &mut Ui, form: &mut OutcomeForm) -> (Vec<Deed>, bool) {
    ui.heading(window::outcome_of(&form.pond_name));
    Grid::new("outcome").num_columns(2).show(ui, |ui| {
        let label = ui.label(window::HARVESTED);
        ui.add(TextEdit::singleline(&mut form.harvested).desired_width(200.0))
            .labelled_by(label.id);
        ui.end_row();
        let label = ui.label(window::CHECKED);
        ui.add(DragValue::new(&mut form.checked).range(1..=100_000))
            .labelled_by(label.id);
        ui.end_row();
        let label = ui.label(window::SOFT_FOUND);
        ui.add(DragValue::new(&mut form.soft).range(0..=form.checked))
            .labelled_by(label.id);
        ui.end_row();
        let label = ui.label(window::SAMPLE_NOTE);
        ui.add(TextEdit::singleline(&mut form.note).desired_width(260.0))
            .labelled_by(label.id);
        ui.end_row();
    });
    let outcome = form.outcome();
    if let Err(wrong) = &outcome {
        notice(ui, wrong);
    }
    let kept = ui
        .add_enabled(outcome.is_ok(), Button::new(window::KEEP))
        .clicked();
    let deed = outcome
        .ok()
        .filter(|_| kept)
        .map(|outcome| Deed::Outcome(Box::new(outcome)));
    (deed.into_iter().collect(), kept)
}
