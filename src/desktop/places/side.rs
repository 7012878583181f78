//! Beside the photo: what is proposed and why, what was called, the stage key, and everything that
//! can be done with the animal.

use crate::anatomy::criteria;
use crate::desktop::actions::Action;
use crate::desktop::deeds::Deed;
use crate::desktop::desk::AnimalSheet;
use crate::desktop::desk::PhotoSheet;
use crate::desktop::places::action_button;
use crate::desktop::places::key_name;
use crate::desktop::render;
use crate::desktop::theme;
use crate::drawing::key::Parts;
use crate::drawing::key::key;
use crate::drawing::stair::stair;
use crate::moult::Shell;
use crate::moult::Stage;
use crate::records::Because;
use crate::texts;
use crate::texts::window;
use crate::workflow::animals::AnimalProposal;
use egui::Button;
use egui::RichText;
use egui::Stroke;
use egui::Ui;
use egui::vec2;

/// Shows what belongs to an animal; `photo` is the one in view.
pub fn show(ui: &mut Ui, animal: &AnimalSheet, photo: Option<(usize, &PhotoSheet)>) -> Vec<Deed> {
    let mut deeds = Vec::new();
    ui.heading(window::animal(&animal.name, animal.station.as_deref()));
    if let Some((position, photo)) = photo {
        ui.weak(window::photo_of(
            position + 1,
            animal.photos.len(),
            &photo.name,
        ));
    }
    call_line(ui, animal);
    if !animal.rivals.is_empty() {
        rivals(ui, animal);
    }
    deeds.extend(stage_keys(ui, animal));
    ui.separator();
    if animal.is_hidden() {
        notice(ui, window::HIDDEN);
    } else {
        proposal(ui, animal, photo.map(|(_, photo)| photo));
    }
    ui.separator();
    deeds.extend(more(ui, animal));
    if !animal.is_hidden() {
        stage_key(ui, animal);
    }
    deeds
}

/// Words on a plate that a person should not miss.
pub fn notice(ui: &mut Ui, words: &str) {
    let ink = theme::ink(ui.visuals().dark_mode);
    egui::Frame::new()
        .fill(ink.notice_ground)
        .inner_margin(6)
        .corner_radius(3)
        .show(ui, |ui| ui.label(RichText::new(words).color(ink.notice)));
}

fn call_line(ui: &mut Ui, animal: &AnimalSheet) {
    let said = match &animal.call {
        Some(call) => match (call.stage, &call.unread_because) {
            (Some(stage), _) => window::call_by(stage, &call.reader),
            (None, Some(why)) => why.clone(),
            (None, None) => window::STANDINGS[5].to_owned(),
        },
        None => window::UNCALLED.to_owned(),
    };
    ui.horizontal_wrapped(|ui| {
        ui.strong(window::CALL);
        ui.label(said);
        if animal.shell.is_some() {
            ui.weak(window::shell_line(animal.shell));
        }
    });
    if !animal.note.is_empty() {
        ui.weak(window::note(&animal.note));
    }
}

/// Two calls of the same animal, as they come from another logbook: they stand beside each other until
/// one is chosen.
fn rivals(ui: &mut Ui, animal: &AnimalSheet) {
    let said = animal.rivals.iter().map(|call| {
        let stage = call.stage.map_or(window::UNREAD_CODE, Stage::code);
        window::rival(stage, &call.reader)
    });
    let said: Vec<String> = said.collect();
    notice(ui, &window::rivals(&said.join(", ")));
}

/// A button for each stage in its colour, with its key where that is not its code.
fn stage_keys(ui: &mut Ui, animal: &AnimalSheet) -> Vec<Deed> {
    let mut deeds = Vec::new();
    let called = animal.call.as_ref().and_then(|call| call.stage);
    let dark = ui.visuals().dark_mode;
    let ink = theme::ink(dark);
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing = vec2(4.0, 4.0);
        for stage in Stage::ALL {
            let action = Action::Call(stage);
            let chosen = called == Some(stage);
            let words = RichText::new(stage.code())
                .color(theme::words_on(stage))
                .strong();
            let mut button = Button::new(words)
                .fill(theme::stage(stage, dark))
                .min_size(vec2(30.0, 26.0))
                .selected(false);
            if chosen {
                button = button.stroke(Stroke::new(3.0, ink.chosen));
            }
            let name_of_key = action.entry().map(|entry| key_name(ui.ctx(), entry));
            let response = ui.add(button);
            let words = action.words();
            response.widget_info(|| {
                egui::WidgetInfo::selected(egui::accesskit::Role::Button, true, chosen, words.name)
            });
            let hint = window::hint_with_key(words.hint, &name_of_key.unwrap_or_default());
            if response.on_hover_text(hint).clicked() {
                deeds.push(Deed::Do(action));
            }
        }
    });
    if animal
        .proposal
        .as_ref()
        .is_some_and(AnimalProposal::may_be_agreed)
        && !animal.is_hidden()
        && animal.is_uncalled()
        && action_button(ui, Action::Agree).clicked()
    {
        deeds.push(Deed::Do(Action::Agree));
    }
    deeds
}

fn proposal(ui: &mut Ui, animal: &AnimalSheet, photo: Option<&PhotoSheet>) {
    let scheme = theme::scheme(ui.visuals().dark_mode);
    let called = animal.call.as_ref().and_then(|call| call.stage);
    let Some(found) = &animal.proposal else {
        match photo.and_then(|photo| photo.reading.as_deref()) {
            Some(reading) => notice(ui, &texts::readings::answer(reading)),
            None if photo.is_some() => {
                ui.weak(window::NOT_READ);
            }
            None => {}
        }
        return;
    };
    let p = found
        .stage
        .and_then(|stage| found.probabilities.get(&stage).copied());
    let said = window::proposal(found.stage, p, found.second_reader, found.photos);
    ui.horizontal_wrapped(|ui| {
        ui.strong(window::PROPOSAL);
        ui.label(&said);
    });
    let drawing = stair(&found.probabilities, found.stage, called, scheme);
    let most = vec2(ui.available_width(), 190.0);
    render::show(ui, &drawing, most, &said);
    ui.weak(window::novelty(found.novelty));
    if photo.is_some_and(|photo| photo.by_hand) {
        ui.weak(window::BY_HAND);
    }
    if !found.because.is_empty() {
        ui.strong(window::MEASURES);
        for reason in &found.because {
            because(ui, reason);
        }
    }
    if let Some(reading) = photo.and_then(|photo| photo.reading.as_deref()) {
        if reading.usable {
            ui.weak(texts::readings::gap(reading));
            ui.weak(texts::readings::scale(reading));
        } else {
            notice(ui, &texts::readings::answer(reading));
        }
    }
}

/// A measure with its value and what is usual in the stage that it speaks for.
fn because(ui: &mut Ui, reason: &Because) {
    let name = texts::readings::measure(&reason.measure);
    let unit = if reason.measure.ends_with("base_widths") {
        window::BASE_WIDTHS
    } else {
        ""
    };
    let usual = criteria(reason.toward).and_then(|of| match reason.measure.as_str() {
        "gap_base_widths" => Some(of.gap),
        "base_pigment" => Some(of.base_pigment),
        "lumen_pigment" => Some(of.lumen_pigment),
        "base_line" => Some(of.base_line),
        "scallop_base_widths" => Some(of.scallop),
        "new_setae" => Some(of.new_setae),
        _ => None,
    });
    let said = match usual {
        Some(span) => {
            window::measure_with_range(name, reason.value, reason.toward, span.low, span.high, unit)
        }
        None => window::measure(name, reason.value, unit),
    };
    ui.horizontal_wrapped(|ui| {
        ui.label(said);
        ui.weak(window::speaks_for(reason.toward));
    });
}

/// What else can be done with the animal.
fn more(ui: &mut Ui, animal: &AnimalSheet) -> Vec<Deed> {
    let mut deeds = Vec::new();
    ui.horizontal_wrapped(|ui| {
        let mut offer = vec![Action::Refuse, Action::SecondReader, Action::Note];
        if animal.call.is_some() {
            offer.push(Action::Withdraw);
        }
        for shell in [Shell::Firm, Shell::Soft, Shell::Papery] {
            if animal.shell != Some(shell) {
                offer.push(Action::Shell(Some(shell)));
            }
        }
        if animal.shell.is_some() {
            offer.push(Action::Shell(None));
        }
        offer.push(Action::Correct);
        for action in offer {
            if action_button(ui, action).clicked() {
                deeds.push(Deed::Do(action));
            }
        }
    });
    deeds
}

/// The stage key's drawings of the stage in question and its neighbours.
fn stage_key(ui: &mut Ui, animal: &AnimalSheet) {
    let called = animal.call.as_ref().and_then(|call| call.stage);
    let likeliest = animal.proposal.as_ref().and_then(|found| {
        let best = found.probabilities.iter().max_by(|a, b| a.1.total_cmp(b.1));
        best.map(|(stage, _)| *stage)
    });
    let Some(stage) = called.or(likeliest) else {
        return;
    };
    ui.strong(window::STAGE_KEY);
    let scheme = theme::scheme(ui.visuals().dark_mode);
    let all = Stage::ALL;
    let at = stage.index();
    let first = at.saturating_sub(1).min(all.len() - 3);
    let width = (ui.available_width() - 12.0) / 3.0;
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 4.0;
        for shown in &all[first..first + 3] {
            ui.vertical(|ui| {
                ui.set_width(width);
                let drawing = key(*shown, Parts::Unnamed, scheme);
                render::show(ui, &drawing, vec2(width, 150.0), &window::key_of(*shown));
                let code = RichText::new(shown.code());
                ui.label(if *shown == stage {
                    code.strong()
                } else {
                    code.weak()
                });
            });
        }
    });
}
