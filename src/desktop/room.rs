//! Slides that are read blind, one after the other: photo and scale, nothing else. A second reading
//! at this desk, one by a file, or a practice round.

use crate::desktop::actions::Action;
use crate::desktop::deeds::Deed;
use crate::desktop::gallery::Gallery;
use crate::desktop::photo_view;
use crate::desktop::photo_view::Eye;
use crate::desktop::photo_view::Shown;
use crate::desktop::places::action_button;
use crate::desktop::places::side::notice;
use crate::desktop::theme;
use crate::moult::Stage;
use crate::texts::window;
use crate::workflow::practice::PracticeCall;
use crate::workflow::practice::PracticeInHand;
use crate::workflow::second::away::BlindInHand;
use crate::workflow::second::away::BlindPhotoInHand;
use crate::workflow::second::away::BlindSlideInHand;
use egui::Align2;
use egui::Button;
use egui::FontId;
use egui::Panel;
use egui::Rect;
use egui::Response;
use egui::RichText;
use egui::Sense;
use egui::Ui;
use egui::WidgetInfo;
use egui::accesskit::Role;
use egui::vec2;
use std::collections::BTreeMap;
use std::time::Instant;

/// What the slides are read for.
#[derive(Debug, Clone, PartialEq)]
pub enum RoomOf {
    /// A round of this logbook.
    Desk {
        /// The round.
        round: String,
    },
    /// A file of somebody else.
    File(Box<BlindInHand>),
    /// Practice.
    Practice(Box<PracticeInHand>),
}

/// Slides that are being read.
#[derive(Debug, Clone)]
pub struct Room {
    /// What for.
    pub of: RoomOf,
    /// Who reads.
    pub reader: String,
    /// The slides.
    pub slides: Vec<BlindSlideInHand>,
    /// What was called, by number.
    pub called: BTreeMap<u32, Option<Stage>>,
    /// The slide in view.
    pub at: usize,
    /// Its photo in view.
    pub photo: usize,
    eye: Eye,
    since: Instant,
    seconds: BTreeMap<u32, f64>,
}

impl Room {
    /// A room for a round at this desk.
    pub fn desk(
        round: String,
        reader: String,
        slides: Vec<BlindSlideInHand>,
        called: BTreeMap<u32, Option<Stage>>,
    ) -> Self {
        Self::of(RoomOf::Desk { round }, reader, slides, called)
    }

    /// A room for a file.
    pub fn file(hand: BlindInHand) -> Self {
        let called = hand.calls().iter().map(|(n, call)| (*n, call.stage));
        let (called, slides) = (called.collect(), hand.slides.clone());
        let reader = hand.reader.clone();
        Self::of(RoomOf::File(Box::new(hand)), reader, slides, called)
    }

    /// A room for practice.
    pub fn practice(hand: PracticeInHand) -> Self {
        let slides = (1..)
            .zip(&hand.slides)
            .map(|(number, slide)| BlindSlideInHand {
                number,
                photos: slide.photos.clone(),
            });
        let (slides, reader) = (slides.collect(), hand.reader.clone());
        Self::of(
            RoomOf::Practice(Box::new(hand)),
            reader,
            slides,
            BTreeMap::new(),
        )
    }

    fn of(
        of: RoomOf,
        reader: String,
        slides: Vec<BlindSlideInHand>,
        called: BTreeMap<u32, Option<Stage>>,
    ) -> Self {
        let open = slides.iter().position(|s| !called.contains_key(&s.number));
        Self {
            of,
            reader,
            slides,
            called,
            at: open.unwrap_or(0),
            photo: 0,
            eye: Eye::default(),
            since: Instant::now(),
            seconds: BTreeMap::new(),
        }
    }

    /// The slide in view.
    pub fn slide(&self) -> Option<&BlindSlideInHand> {
        self.slides.get(self.at)
    }

    /// Notes a call of the slide in view, with the time it took, and goes to the next open one.
    /// Gives the number of the slide.
    pub fn call(&mut self, stage: Option<Stage>) -> Option<u32> {
        let number = self.slide()?.number;
        let spent = self.seconds.entry(number).or_default();
        *spent += self.since.elapsed().as_secs_f64();
        self.called.insert(number, stage);
        let count = self.slides.len();
        let open = (1..count)
            .map(|step| (self.at + step) % count)
            .find(|at| !self.called.contains_key(&self.slides[*at].number));
        if let Some(at) = open {
            self.look_at(at);
        }
        self.since = Instant::now();
        Some(number)
    }

    /// Looks at another slide. In practice there is no way back to one that was called.
    pub fn look_at(&mut self, at: usize) {
        let practice = matches!(self.of, RoomOf::Practice(_));
        let Some(slide) = self.slides.get(at) else {
            return;
        };
        if practice && self.called.contains_key(&slide.number) {
            return;
        }
        if let Some(own) = self.slide() {
            let spent = self.seconds.entry(own.number).or_default();
            *spent += self.since.elapsed().as_secs_f64();
        }
        self.at = at;
        self.photo = 0;
        self.eye.fit();
        self.since = Instant::now();
    }

    /// The slide comes into view again: the time in between is not its own.
    pub fn resume(&mut self) {
        self.since = Instant::now();
    }

    /// Whether it is this round at this desk.
    pub fn is_of_round(&self, id: &str) -> bool {
        matches!(&self.of, RoomOf::Desk { round } if round == id)
    }

    /// Whether every slide was called.
    pub fn is_done(&self) -> bool {
        self.called.len() >= self.slides.len()
    }

    /// The practice round that was read, with the calls of the slides that were called.
    pub fn practised(&self) -> Option<(PracticeInHand, Vec<PracticeCall>)> {
        let RoomOf::Practice(hand) = &self.of else {
            return None;
        };
        let mut kept = PracticeInHand {
            slides: Vec::new(),
            ..(**hand).clone()
        };
        let mut calls = Vec::new();
        for (slide, truth) in self.slides.iter().zip(&hand.slides) {
            if let Some(call) = self.called.get(&slide.number) {
                kept.slides.push(truth.clone());
                let seconds = self.seconds.get(&slide.number).copied().unwrap_or(0.0);
                calls.push(PracticeCall {
                    call: *call,
                    seconds,
                });
            }
        }
        Some((kept, calls))
    }
}

/// Shows the slide in view and the keys to call it.
pub fn show(ui: &mut Ui, room: &mut Room, gallery: &mut Gallery) -> Vec<Deed> {
    let mut deeds = Vec::new();
    Panel::bottom("blind-keys").show(ui, |ui| deeds.extend(keys(ui, room)));
    let Some(slide) = room.slide().cloned() else {
        return deeds;
    };
    room.photo = room.photo.min(slide.photos.len().saturating_sub(1));
    if let Some(photo) = slide.photos.get(room.photo) {
        let label = window::blind_slide(slide.number, room.slides.len());
        picture(ui, &mut room.eye, photo, &label, gallery);
    }
    deeds
}

fn keys(ui: &mut Ui, room: &mut Room) -> Vec<Deed> {
    let mut deeds = Vec::new();
    let Some(slide) = room.slide() else {
        return deeds;
    };
    let photos = slide.photos.len();
    let number = slide.number;
    let scale = slide
        .photos
        .get(room.photo)
        .and_then(|photo| photo.um_per_px);
    ui.add_space(4.0);
    ui.horizontal_wrapped(|ui| {
        ui.strong(window::blind_slide(number, room.slides.len()));
        ui.label(match &room.of {
            RoomOf::Desk { .. } => window::blind_of(&room.reader),
            RoomOf::File(_) => window::blind_from_file(&room.reader),
            RoomOf::Practice(hand) => window::practice_of(&room.reader, hand.painted),
        });
        ui.weak(window::blind_called(room.called.len(), room.slides.len()));
        ui.weak(window::blind_scale(scale));
        for at in 0..photos {
            let button = Button::selectable(room.photo == at, window::photo_number(at + 1));
            if photos > 1 && ui.add(button).clicked() {
                room.photo = at;
            }
        }
    });
    let called = room.called.get(&number).copied();
    ui.horizontal_wrapped(|ui| {
        let dark = ui.visuals().dark_mode;
        let ink = theme::ink(dark);
        for stage in Stage::ALL {
            let action = Action::BlindCall(stage);
            let chosen = called == Some(Some(stage));
            let words = RichText::new(stage.code())
                .color(theme::words_on(stage))
                .strong();
            let mut button = Button::new(words)
                .fill(theme::stage(stage, dark))
                .min_size(vec2(44.0, 30.0));
            if chosen {
                button = button.stroke(egui::Stroke::new(3.0, ink.chosen));
            }
            let response = ui.add(button);
            let name = action.words().name;
            response.widget_info(|| WidgetInfo::selected(Role::Button, true, chosen, name));
            if response.on_hover_text(action.words().hint).clicked() {
                deeds.push(Deed::Do(action));
            }
        }
        let mut offer = vec![Action::BlindUnread];
        if !matches!(room.of, RoomOf::Practice(_)) {
            offer.extend([Action::BlindBack, Action::BlindOn]);
        }
        offer.push(Action::Close);
        for action in offer {
            if action_button(ui, action).clicked() {
                deeds.push(Deed::Do(action));
            }
        }
    });
    if room.is_done() {
        match &room.of {
            RoomOf::File(hand) => notice(ui, &window::answer_ready(&hand.answer)),
            RoomOf::Desk { .. } => notice(ui, window::ROUND_DONE),
            RoomOf::Practice(_) => {}
        }
    }
    ui.add_space(4.0);
    deeds
}

/// The photo, to be magnified and moved with the pointer.
fn picture(
    ui: &mut Ui,
    eye: &mut Eye,
    photo: &BlindPhotoInHand,
    label: &str,
    gallery: &mut Gallery,
) {
    let (area, response) = ui.allocate_exact_size(ui.available_size(), Sense::click_and_drag());
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, label));
    let ink = theme::ink(ui.visuals().dark_mode);
    ui.painter().rect_filled(area, 0.0, ink.bench);
    let shown = Shown {
        hash: photo.hash.clone(),
        path: photo.path.clone(),
        size: None,
        found: None,
    };
    let painter = ui.painter_at(area);
    if let Some(size) = photo_view::paint(&painter, gallery, &shown, eye, area) {
        touch(ui, eye, &response, (area, size), true);
    } else {
        let (font, at) = (FontId::proportional(14.0), area.center());
        painter.text(at, Align2::CENTER_CENTER, window::COMING, font, ink.quiet);
    }
}

/// Moves and magnifies by the pointer; the wheel alone magnifies too where nothing else scrolls.
pub(in crate::desktop) fn touch(
    ui: &Ui,
    eye: &mut Eye,
    response: &Response,
    (area, size): (Rect, [u32; 2]),
    wheel: bool,
) {
    let per_point = ui.ctx().pixels_per_point();
    if response.dragged() {
        eye.pan(response.drag_delta(), area, size);
    }
    if response.double_clicked() {
        if eye.scale.is_none() {
            let at = response
                .interact_pointer_pos()
                .unwrap_or_else(|| area.center());
            let scale = eye.scale_in(area, size);
            eye.zoom(1.0 / per_point / scale, at, area, size, per_point);
        } else {
            eye.fit();
        }
    }
    if let Some(at) = response.hover_pos() {
        let (scroll, pinch) = ui.input(|i| (i.smooth_scroll_delta().y, i.zoom_delta()));
        let scroll = if wheel { scroll } else { 0.0 };
        let factor = pinch * (scroll / 240.0).exp();
        if (factor - 1.0).abs() > 1e-4 {
            eye.zoom(factor, at, area, size, per_point);
        }
    }
}
