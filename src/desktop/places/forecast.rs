//! The place where the tally is carried forward: the night ribbon, the water to be dragged, the
//! verdict for the planned harvest.

use crate::desktop::actions::Action;
use crate::desktop::deeds::Deed;
use crate::desktop::desk::SampleSheet;
use crate::desktop::keeper::Counted;
use crate::desktop::places::action_button;
use crate::desktop::places::side::notice;
use crate::desktop::render;
use crate::desktop::theme;
use crate::drawing::ribbon::ribbon;
use crate::texts;
use crate::texts::window;
use crate::workflow::carrying::Plan;
use crate::workflow::forecasting::DatedForecast;
use crate::workflow::report::ribbon_of;
use egui::ScrollArea;
use egui::Slider;
use egui::Ui;
use egui::vec2;
use std::sync::Arc;

/// What is asked of the nights ahead, and what was found.
#[derive(Debug, Default)]
pub struct Outlook {
    /// The water, where it is another than noted.
    pub water_c: Option<f64>,
    /// The drain, so many nights later than planned.
    pub drain_later: i32,
    /// Whether what was found no longer answers what is asked.
    pub stale: bool,
    /// What was found, or why nothing was.
    pub found: Option<Result<Arc<DatedForecast>, String>>,
}

impl Outlook {
    /// Another sample is in hand.
    pub fn begin(&mut self, _: &SampleSheet) {
        *self = Self {
            stale: true,
            ..Self::default()
        };
    }

    /// What is asked.
    pub fn plan(&self, sample: &SampleSheet, counted: &Counted) -> Plan {
        Plan {
            tally: counted.tally.clone(),
            settings: counted.settings.clone(),
            species: sample.species.clone(),
            weight_g: sample.weight_g,
            water_c: self.water_c.or(sample.water_c),
            netted: sample.netted_at.clone().unwrap_or_default(),
            drain_start: sample.harvest_at.clone(),
            drain_later: self.drain_later,
            drain_hours: sample.drain_hours,
        }
    }
}

/// Shows the place.
pub fn show(ui: &mut Ui, outlook: &Outlook, sample: &SampleSheet) -> Vec<Deed> {
    let mut deeds = Vec::new();
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        ui.add_space(6.0);
        deeds.extend(controls(ui, outlook, sample));
        match &outlook.found {
            Some(Ok(found)) => nights(ui, found),
            Some(Err(why)) => notice(ui, why),
            None => {
                ui.label(window::NO_FORECAST_YET);
            }
        }
    });
    deeds
}

/// The water and the drain.
fn controls(ui: &mut Ui, outlook: &Outlook, sample: &SampleSheet) -> Vec<Deed> {
    let mut deeds = Vec::new();
    ui.horizontal_wrapped(|ui| {
        let label = ui.label(window::WATER);
        let mut water = outlook.water_c.or(sample.water_c).unwrap_or(28.0);
        let slider = Slider::new(&mut water, 20.0..=34.0)
            .step_by(0.1)
            .suffix(window::CELSIUS);
        if ui.add(slider).labelled_by(label.id).changed() {
            deeds.push(Deed::Water(water));
        }
        for action in [
            Action::EditSample,
            Action::Cooler,
            Action::Warmer,
            Action::DrainEarlier,
            Action::DrainLater,
        ] {
            if action_button(ui, action).clicked() {
                deeds.push(Deed::Do(action));
            }
        }
    });
    if outlook
        .water_c
        .is_some_and(|own| Some(own) != sample.water_c)
    {
        ui.weak(window::other_water(sample.water_c));
    }
    deeds
}

fn nights(ui: &mut Ui, found: &DatedForecast) {
    if let Some(harvest) = &found.harvest {
        ui.heading(window::harvest_verdict(
            texts::tally::answer(harvest.verdict),
            &harvest.start,
            &harvest.end,
        ));
        for why in &harvest.because {
            ui.label(why);
        }
        ui.weak(window::expires(&harvest.expires));
    } else {
        ui.heading(texts::tally::answer(found.tally.at_netting));
        ui.label(window::NO_HARVEST_PLANNED);
    }
    let scheme = theme::scheme(ui.visuals().dark_mode);
    let drawing = ribbon(&ribbon_of(found), scheme);
    let most = vec2(ui.available_width() - 12.0, 460.0);
    render::show(ui, &drawing, most, &window::ribbon(found.nights.len()));
    for (span, words) in [
        (&found.expected_span, window::EXPECTED_SPAN),
        (&found.confident_span, window::CONFIDENT_SPAN),
    ] {
        match span {
            Some(span) => ui.label(window::span(words, &span.open_gates_from, &span.drained_by)),
            None => ui.label(window::no_span(words)),
        };
    }
    if let Some(why) = &found.no_span_because {
        ui.label(why);
    }
    for warning in &found.warnings {
        notice(ui, warning);
    }
    ui.weak(window::cycle(found.cycle_days, found.cycle_cv));
    ui.weak(window::MOON_NOT_USED);
    ui.label(texts::cautions::VERDICT);
    ui.strong(texts::forecast::LAST_SENTENCE);
    ui.collapsing(window::ASSUMED, |ui| {
        ui.label(texts::tally::assumptions(&found.assumed));
    });
}
