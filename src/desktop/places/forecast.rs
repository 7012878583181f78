//! The place where the tally is carried forward: the night ribbon, the water to be dragged, the
//! verdict for the planned harvest, the value of waiting.

use crate::desktop::actions::Action;
use crate::desktop::deeds::Deed;
use crate::desktop::desk::SampleSheet;
use crate::desktop::places::action_button;
use crate::desktop::places::side::notice;
use crate::desktop::places::worth;
use crate::desktop::places::worth::WorthForm;
use crate::desktop::render;
use crate::desktop::theme;
use crate::drawing::ribbon::ribbon;
use crate::texts;
use crate::texts::window;
use crate::workflow::carrying::Trial;
use crate::workflow::forecasting::DatedForecast;
use crate::workflow::report::ribbon_of;
use egui::ScrollArea;
use egui::Slider;
use egui::Ui;
use egui::vec2;
use std::ops::RangeInclusive;
use std::sync::Arc;

/// Water that can be tried out, in degrees Celsius.
pub const WATERS: RangeInclusive<f64> = 20.0..=34.0;
/// Where a trial begins when no water was noted.
pub const USUAL_WATER: f64 = 28.0;

/// What is asked of the nights ahead, and what was found.
#[derive(Debug, Default)]
pub struct Outlook {
    /// What is tried out beside what was noted.
    pub trial: Trial,
    /// Whether what was found no longer answers what is asked.
    pub stale: bool,
    /// What was found, or why nothing was.
    pub found: Option<Result<Arc<DatedForecast>, String>>,
    /// The numbers for the value of waiting, while they are being entered.
    pub form: Option<WorthForm>,
}

impl Outlook {
    /// Another sample is in hand.
    pub fn begin(&mut self) {
        *self = Self {
            stale: true,
            ..Self::default()
        };
    }
}

/// Shows the place.
pub fn show(ui: &mut Ui, outlook: &mut Outlook, sample: &SampleSheet) -> Vec<Deed> {
    let mut deeds = Vec::new();
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        ui.add_space(6.0);
        deeds.extend(controls(ui, outlook, sample));
        if let Some(form) = &mut outlook.form {
            let (asked, done) = worth::show(ui, form);
            deeds.extend(asked);
            if done {
                outlook.form = None;
            }
        }
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
    let tried = outlook.trial.water_c;
    ui.horizontal_wrapped(|ui| {
        let label = ui.label(window::WATER);
        let mut water = tried.or(sample.water_c).unwrap_or(USUAL_WATER);
        let slider = Slider::new(&mut water, WATERS)
            .step_by(0.1)
            .suffix(window::CELSIUS);
        if ui.add(slider).labelled_by(label.id).changed() {
            deeds.push(Deed::Water(water));
        }
        for action in [
            Action::Cooler,
            Action::Warmer,
            Action::DrainEarlier,
            Action::DrainLater,
            Action::Worth,
            Action::EditSample,
        ] {
            if action_button(ui, action).clicked() {
                deeds.push(Deed::Do(action));
            }
        }
    });
    if tried.is_some_and(|own| Some(own) != sample.water_c) {
        ui.weak(window::other_water(sample.water_c));
    }
    if outlook.trial.drain_later != 0 && sample.harvest_at.is_some() {
        ui.weak(window::other_drain(outlook.trial.drain_later));
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
        let (soft, pessimistic) = (harvest.worst_soft, harvest.worst_pessimistic_soft);
        ui.label(texts::forecast::worst(soft, pessimistic));
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
    if let Some(reader) = &found.reader {
        ui.label(texts::forecast::reader(reader.slides, reader.draws));
    }
    for warning in &found.warnings {
        notice(ui, warning);
    }
    if let Some(waiting) = &found.waiting {
        worth::table(ui, waiting);
    }
    ui.weak(window::cycle(found.cycle_days, found.cycle_cv));
    ui.weak(window::MOON_NOT_USED);
    ui.label(texts::cautions::VERDICT);
    ui.strong(texts::forecast::LAST_SENTENCE);
    ui.collapsing(window::ASSUMED, |ui| {
        ui.label(texts::tally::assumptions(&found.assumed));
    });
}
