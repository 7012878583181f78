//! Second readers and practice: what is to be read, what waits to be settled, how readers agree.

use crate::desktop::actions::Action;
use crate::desktop::deeds::Deed;
use crate::desktop::gallery::Gallery;
use crate::desktop::keeper::readers::DisagreementSheet;
use crate::desktop::keeper::readers::ReadersSheet;
use crate::desktop::photo_view;
use crate::desktop::photo_view::Eye;
use crate::desktop::photo_view::Shown;
use crate::desktop::places::action_button;
use crate::desktop::places::side::notice;
use crate::desktop::render;
use crate::desktop::room::touch;
use crate::desktop::theme;
use crate::drawing::key::Parts;
use crate::drawing::key::key;
use crate::moult::Stage;
use crate::records::rounds::PracticeRound;
use crate::statistics::agreement::Weighting;
use crate::texts;
use crate::texts::window;
use crate::workflow::practice::PracticeInHand;
use crate::workflow::practice::score::Mistake;
use crate::workflow::practice::score::PracticeScore;
use crate::workflow::practice::score::Standard;
use crate::workflow::second::pairs::PairOfReaders;
use egui::Button;
use egui::Grid;
use egui::RichText;
use egui::ScrollArea;
use egui::Sense;
use egui::TextEdit;
use egui::Ui;
use egui::WidgetInfo;
use egui::accesskit::Role;
use egui::vec2;
use std::path::Path;

/// A disagreement that is being settled.
#[derive(Debug, Clone, Default)]
pub struct Settling {
    /// Its place in the list.
    pub at: usize,
    /// The reason as written so far.
    pub because: String,
    /// How its photo is looked at.
    pub eye: Eye,
}

/// A practice round that was read, with what came of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Practised {
    /// The slides with their truth.
    pub hand: PracticeInHand,
    /// The round.
    pub round: PracticeRound,
    /// Its figures.
    pub score: PracticeScore,
    /// The standard it was held against.
    pub standard: Standard,
}

/// What the place remembers between frames.
#[derive(Debug, Clone, Default)]
pub struct Desk {
    /// What is being settled.
    pub settling: Option<Settling>,
    /// What came of the last practice.
    pub practised: Option<Box<Practised>>,
}

/// Shows what there is to do.
pub fn show(
    ui: &mut Ui,
    desk: &mut Desk,
    sheet: &ReadersSheet,
    gallery: &mut Gallery,
) -> Vec<Deed> {
    let mut deeds = Vec::new();
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        ui.add_space(6.0);
        if let Some(settling) = &mut desk.settling
            && let Some(of) = sheet.disagreements.get(settling.at)
        {
            deeds.extend(settle(ui, settling, of, sheet.disagreements.len(), gallery));
            return;
        }
        if let Some(practised) = &desk.practised {
            deeds.extend(result(ui, practised, gallery));
            return;
        }
        deeds.extend(second(ui, sheet));
        ui.add_space(10.0);
        deeds.extend(practice(ui, sheet));
    });
    deeds
}

fn offer(ui: &mut Ui, actions: &[Action]) -> Vec<Deed> {
    let mut deeds = Vec::new();
    ui.horizontal_wrapped(|ui| {
        for action in actions {
            if action_button(ui, *action).clicked() {
                deeds.push(Deed::Do(*action));
            }
        }
    });
    deeds
}

fn second(ui: &mut Ui, sheet: &ReadersSheet) -> Vec<Deed> {
    ui.heading(window::SECOND_READINGS);
    ui.label(window::SECOND_WORDS);
    let deeds = offer(
        ui,
        &[
            Action::SecondHere,
            Action::SecondSend,
            Action::SecondOpen,
            Action::SecondTake,
            Action::Settle,
        ],
    );
    let waiting = texts::second::waiting(sheet.disagreements.len());
    if sheet.disagreements.is_empty() {
        ui.weak(waiting);
    } else {
        notice(ui, &waiting);
    }
    for round in sheet.rounds.iter().take(8) {
        ui.weak(window::round_line(
            [&round.drawn, &round.reader],
            [round.called, round.slides],
            round.sent,
        ));
    }
    ui.add_space(6.0);
    for (at, pair) in sheet.pairs.iter().enumerate() {
        agreement(ui, at, pair);
    }
    for known in &sheet.known {
        ui.weak(known);
    }
    if !sheet.pairs.is_empty() {
        ui.weak(texts::agreement::NOTE);
    }
    deeds
}

fn agreement(ui: &mut Ui, at: usize, pair: &PairOfReaders) {
    let of = &pair.agreement;
    ui.strong(window::two_readers(&of.readers[0], &of.readers[1]));
    Grid::new(("agreement", at))
        .num_columns(2)
        .striped(true)
        .spacing([18.0, 3.0])
        .show(ui, |ui| {
            for (name, part) in [
                (window::SAME_STAGE, of.exact),
                (window::WITHIN_ONE, of.within_one_stage),
            ] {
                ui.label(name);
                ui.label(window::part_of(part.part, part.low, part.high));
                ui.end_row();
            }
            for kappa in &of.kappas {
                ui.label(window::kappa_of(kappa.weighting.name()));
                ui.label(window::kappa(kappa.value, kappa.low, kappa.high));
                ui.end_row();
            }
            ui.label(window::APART);
            ui.label(window::apart(of.soft_apart, of.due_apart));
            ui.end_row();
            if let Some(share) = pair.alike_in_daily_work {
                ui.label(window::IN_DAILY_WORK);
                ui.label(window::share(Some(share)));
                ui.end_row();
            }
            for month in &pair.months {
                ui.label(&month.month);
                ui.label(window::alike(month.alike, month.slides));
                ui.end_row();
            }
        });
}

fn practice(ui: &mut Ui, sheet: &ReadersSheet) -> Vec<Deed> {
    ui.heading(window::PRACTICE);
    ui.label(window::practice_words(sheet.settled));
    let deeds = offer(
        ui,
        &[Action::Practise, Action::PractisePainted, Action::Standard],
    );
    ui.weak(standard_words(&sheet.standard));
    if sheet.practice.is_empty() {
        ui.weak(texts::practice::NO_HISTORY);
    }
    for line in sheet.certificates.iter().take(4) {
        ui.strong(line);
    }
    for line in sheet.practice.iter().take(12) {
        ui.label(line);
    }
    deeds
}

fn standard_words(of: &Standard) -> String {
    texts::practice::standard(
        [of.slides, of.stages],
        [
            of.quadratic_kappa,
            of.soft_errors,
            of.due_errors,
            of.not_told,
        ],
    )
}

/// Both calls beside the photo, each with the stage key's drawing.
fn settle(
    ui: &mut Ui,
    settling: &mut Settling,
    of: &DisagreementSheet,
    count: usize,
    gallery: &mut Gallery,
) -> Vec<Deed> {
    let mut deeds = Vec::new();
    ui.heading(window::settling(settling.at + 1, count));
    ui.label(window::settling_of(&of.place, &of.animal));
    if of.on_soft || of.on_due {
        notice(ui, window::settling_border((of.on_soft, of.on_due)));
    }
    let tall = (0.42 * ui.available_height()).clamp(160.0, 420.0);
    for photo in &of.photos {
        let label = window::photo_label(&of.animal);
        let size = vec2(ui.available_width(), tall);
        let place = (photo.hash.as_str(), photo.path.as_path());
        picture(ui, place, size, &label, Some(&mut settling.eye), gallery);
    }
    ui.weak(window::LABEL_PHOTO_HINT);
    ui.add_space(6.0);
    let label = ui.label(window::BECAUSE);
    ui.add(TextEdit::singleline(&mut settling.because).desired_width(f32::INFINITY))
        .labelled_by(label.id);
    let ready = !settling.because.trim().is_empty();
    ui.horizontal_wrapped(|ui| {
        ui.label(window::WHAT_STANDS);
        let dark = ui.visuals().dark_mode;
        for stage in Stage::ALL {
            let words = RichText::new(stage.code())
                .color(theme::words_on(stage))
                .strong();
            let button = Button::new(words).fill(theme::stage(stage, dark));
            let response = ui.add_enabled(ready, button);
            let name = window::stands(stage);
            response.widget_info(|| WidgetInfo::labeled(Role::Button, ready, &name));
            if response
                .on_disabled_hover_text(window::REASON_FIRST)
                .clicked()
            {
                deeds.push(Deed::Settle {
                    pair: Box::new(of.pair.clone()),
                    stage: Some(stage),
                    because: settling.because.clone(),
                });
            }
        }
    });
    if !ready {
        ui.weak(window::REASON_FIRST);
    }
    ui.columns_const(|[left, right]: &mut [Ui; 2]| {
        call_column(
            left,
            window::FIRST_CALL,
            &of.pair.first_reader,
            of.pair.first,
        );
        call_column(
            right,
            window::SECOND_CALL,
            &of.pair.second_reader,
            of.pair.second,
        );
    });
    ui.weak(texts::key::DISAGREE);
    deeds.extend(offer(
        ui,
        &[Action::BlindBack, Action::BlindOn, Action::Close],
    ));
    deeds
}

fn call_column(ui: &mut Ui, heading: &str, reader: &str, stage: Option<Stage>) {
    ui.strong(heading);
    ui.label(window::called_by(texts::second::called(stage), reader));
    if let Some(stage) = stage {
        stage_drawing(ui, stage);
        for line in texts::practice::criteria(stage) {
            ui.weak(line);
        }
    }
}

pub(in crate::desktop) fn stage_drawing(ui: &mut Ui, stage: Stage) {
    let scheme = theme::scheme(ui.visuals().dark_mode);
    let drawing = key(stage, Parts::Unnamed, scheme);
    let width = ui.available_width().min(220.0);
    render::show(ui, &drawing, vec2(width, 150.0), &window::key_of(stage));
}

/// A photo by its hash and place; with an eye it can be magnified and moved by the pointer.
pub(in crate::desktop) fn picture(
    ui: &mut Ui,
    (hash, path): (&str, &Path),
    size: egui::Vec2,
    label: &str,
    eye: Option<&mut Eye>,
    gallery: &mut Gallery,
) {
    let sense = if eye.is_some() {
        Sense::click_and_drag()
    } else {
        Sense::hover()
    };
    let (area, response) = ui.allocate_exact_size(size, sense);
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, label));
    let ink = theme::ink(ui.visuals().dark_mode);
    ui.painter().rect_filled(area, 2.0, ink.bench);
    let shown = Shown {
        hash: hash.to_owned(),
        path: path.to_owned(),
        size: None,
        found: None,
    };
    let painter = ui.painter_at(area);
    let mut whole = Eye::default();
    let own = eye.is_some();
    let eye = eye.unwrap_or(&mut whole);
    if let (Some(size), true) = (photo_view::paint(&painter, gallery, &shown, eye, area), own) {
        touch(ui, eye, &response, (area, size), false);
    }
}

/// What came of a practice round.
fn result(ui: &mut Ui, practised: &Practised, gallery: &mut Gallery) -> Vec<Deed> {
    let (round, score) = (&practised.round, &practised.score);
    ui.heading(texts::practice::head(
        &round.reader,
        score.slides,
        score.not_told,
        score.seconds,
        round.painted,
    ));
    if let Some(line) = &round.certificate {
        ui.strong(line);
    }
    let exact = score.agreement.exact;
    ui.label(texts::agreement::part(
        window::SAME_STAGE,
        (exact.part, exact.low, exact.high),
    ));
    for weighting in [Weighting::Plain, Weighting::Linear, Weighting::Quadratic] {
        if let Some(k) = score.kappa(weighting) {
            ui.label(texts::agreement::kappa(
                weighting.name(),
                k.value,
                k.low,
                k.high,
            ));
        }
    }
    for (name, of) in [
        (texts::practice::SOFT, score.soft_errors),
        (texts::practice::DUE, score.due_errors),
    ] {
        ui.label(texts::practice::errors(name, (of.part, of.low, of.high)));
    }
    ui.weak(standard_words(&practised.standard));
    let deeds = offer(
        ui,
        &[Action::Practise, Action::PractisePainted, Action::Close],
    );
    if score.mistakes.is_empty() {
        ui.label(texts::practice::NO_MISTAKES);
    }
    for of in &score.mistakes {
        ui.separator();
        mistake(ui, practised, of, gallery);
    }
    deeds
}

/// A mistake: the photo, and the criteria of what it is and of what it was called.
fn mistake(ui: &mut Ui, practised: &Practised, of: &Mistake, gallery: &mut Gallery) {
    let border = (of.soft_error, of.due_error);
    ui.strong(texts::practice::mistake(
        of.number, of.truth, of.call, border,
    ));
    let slide = of
        .number
        .checked_sub(1)
        .and_then(|at| practised.hand.slides.get(at));
    if let Some(photo) = slide.and_then(|slide| slide.photos.first()) {
        let size = vec2(ui.available_width().min(560.0), 240.0);
        let label = window::photo_label(of.truth.code());
        let place = (photo.hash.as_str(), photo.path.as_path());
        picture(ui, place, size, &label, None, gallery);
    }
    ui.columns_const(|[left, right]: &mut [Ui; 2]| {
        call_column(left, window::IT_IS, texts::practice::TRUTH, Some(of.truth));
        if let Some(call) = of.call {
            call_column(
                right,
                window::IT_WAS_CALLED,
                &practised.round.reader,
                Some(call),
            );
        }
    });
}
