//! Microscope profiles: one is chosen, or made from a photo of a ruling.

use crate::desktop::deeds::Deed;
use crate::desktop::dialogs::Seen;
use crate::records::pictures::Microscope;
use crate::texts::window;
use egui::Button;
use egui::DragValue;
use egui::Grid;
use egui::TextEdit;
use egui::Ui;
use std::path::PathBuf;

/// What is being set.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ScaleForm {
    /// Name of the profile to be made.
    pub name: String,
    /// Photo of a ruling.
    pub photo: String,
    /// Distance of two marks in micrometres.
    pub division_um: f64,
    /// Length between two points in pixels, where the marks are not found.
    pub length_px: f64,
    /// The same length in micrometres.
    pub length_um: f64,
    /// What the ruling gave: micrometres per pixel and their error, or why not.
    pub found: Option<Result<(f64, f64), String>>,
    /// Whether the ruling is being looked at.
    pub looking: bool,
}

impl ScaleForm {
    /// An empty form.
    pub fn new() -> Self {
        Self {
            division_um: 10.0,
            length_um: 100.0,
            ..Self::default()
        }
    }

    /// Micrometres per pixel, from the ruling or else from a length by hand.
    fn um_per_px(&self) -> Option<(f64, Option<f64>)> {
        match &self.found {
            Some(Ok((um_per_px, error))) => Some((*um_per_px, Some(*error))),
            _ if self.length_px > 0.0 => Some((self.length_um / self.length_px, None)),
            _ => None,
        }
    }

    fn profile(&self) -> Option<Microscope> {
        let (um_per_px, error) = self.um_per_px()?;
        let name = self.name.trim();
        (!name.is_empty()).then(|| Microscope {
            name: name.to_owned(),
            camera: None,
            objective: None,
            um_per_px,
            error_um_per_px: error,
            division_um: error.map(|_| self.division_um),
            photo_hash: None,
            calibrated: None,
            note: None,
        })
    }
}

/// Shows the profiles and the form.
pub fn show(ui: &mut Ui, form: &mut ScaleForm, seen: Seen<'_>) -> (Vec<Deed>, bool) {
    let mut deeds = Vec::new();
    ui.heading(window::PROFILES);
    let none = !seen.farm.profiles.iter().any(|profile| profile.in_use);
    if ui.radio(none, window::NO_PROFILE).clicked() {
        deeds.push(Deed::UseProfile(None));
    }
    for profile in &seen.farm.profiles {
        let words = window::profile(&profile.name, profile.um_per_px);
        if ui.radio(profile.in_use, words).clicked() {
            deeds.push(Deed::UseProfile(Some(profile.id.clone())));
        }
    }
    ui.separator();
    ui.strong(window::MAKE_PROFILE);
    Grid::new("scale").num_columns(2).show(ui, |ui| {
        let label = ui.label(window::PROFILE_NAME);
        ui.add(TextEdit::singleline(&mut form.name).desired_width(260.0))
            .labelled_by(label.id);
        ui.end_row();
        let label = ui.label(window::RULING_PHOTO);
        ui.add(TextEdit::singleline(&mut form.photo).desired_width(260.0))
            .labelled_by(label.id);
        ui.end_row();
        let label = ui.label(window::DIVISION);
        ui.add(DragValue::new(&mut form.division_um).range(0.1..=10_000.0))
            .labelled_by(label.id);
        ui.end_row();
    });
    let may = !form.photo.trim().is_empty() && !form.looking;
    if ui
        .add_enabled(may, Button::new(window::FIND_MARKS))
        .clicked()
    {
        form.looking = true;
        form.found = None;
        deeds.push(Deed::Ruling(
            PathBuf::from(form.photo.trim()),
            form.division_um,
        ));
    }
    match &form.found {
        Some(Ok((um_per_px, error))) => {
            ui.label(window::scale_found(*um_per_px, *error));
        }
        Some(Err(why)) => crate::desktop::places::side::notice(ui, why),
        None if form.looking => {
            ui.label(window::LOOKING);
        }
        None => {}
    }
    ui.label(window::BY_LENGTH);
    ui.horizontal(|ui| {
        let label = ui.label(window::LENGTH_PX);
        ui.add(DragValue::new(&mut form.length_px).range(0.0..=100_000.0))
            .labelled_by(label.id);
        let label = ui.label(window::LENGTH_UM);
        ui.add(DragValue::new(&mut form.length_um).range(0.1..=100_000.0))
            .labelled_by(label.id);
        if ui.button(window::TWO_CLICKS).clicked() {
            deeds.push(Deed::TwoClicks);
        }
    });
    let profile = form.profile();
    let keep = ui
        .add_enabled(profile.is_some(), Button::new(window::KEEP_PROFILE))
        .clicked();
    if let Some(profile) = profile.filter(|_| keep) {
        deeds.push(Deed::Profile(Box::new(profile)));
        *form = ScaleForm::new();
    }
    (deeds, false)
}
