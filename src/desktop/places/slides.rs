//! The place where tips are read: the photo with its straightened margin, what belongs to the
//! animal beside it, the tray below.

use crate::desktop::actions::Action;
use crate::desktop::correcting::Clicks;
use crate::desktop::correcting::Correcting;
use crate::desktop::correcting::Held;
use crate::desktop::correcting::inward_at;
use crate::desktop::correcting::line_at;
use crate::desktop::deeds::Deed;
use crate::desktop::desk::AnimalSheet;
use crate::desktop::desk::PhotoSheet;
use crate::desktop::desk::SampleSheet;
use crate::desktop::gallery::Gallery;
use crate::desktop::photo_view;
use crate::desktop::photo_view::Eye;
use crate::desktop::photo_view::Shown;
use crate::desktop::places::action_button;
use crate::desktop::places::side;
use crate::desktop::places::straight;
use crate::desktop::places::straight::LaidOut;
use crate::desktop::places::tray;
use crate::desktop::places::tray::CarriedPhoto;
use crate::desktop::theme;
use crate::texts::window;
use egui::Align2;
use egui::FontId;
use egui::Panel;
use egui::Pos2;
use egui::Rect;
use egui::ScrollArea;
use egui::Sense;
use egui::Ui;
use egui::WidgetInfo;
use egui::accesskit::Role;
use egui::vec2;
use std::sync::Arc;

/// What the place remembers between frames: where the eye is, nothing that is kept.
#[derive(Debug, Default)]
pub struct Bench {
    /// Position of the animal in hand.
    pub at: usize,
    /// Position of its photo in view.
    pub photo: usize,
    /// Where the eye is on it.
    pub eye: Eye,
    /// Whether the animal in hand changed since the last frame.
    pub moved: bool,
    /// Where the photo was drawn, and how large it is.
    pub last: Option<(Rect, [u32; 2])>,
    laid_out: Option<LaidOut>,
}

impl Bench {
    /// Takes another animal into hand.
    pub fn look_at(&mut self, animal: usize) {
        if self.at != animal {
            self.at = animal;
            self.photo = 0;
            self.eye.fit();
        }
        self.moved = true;
    }

    /// Another sample is in hand: the first animal without a call comes first.
    pub fn begin(&mut self, sample: &SampleSheet) {
        let first = sample.animals.iter().position(AnimalSheet::is_uncalled);
        *self = Self {
            at: first.unwrap_or(0),
            moved: true,
            eye: Eye {
                look: self.eye.look,
                parts: self.eye.parts,
                ..Eye::default()
            },
            ..Self::default()
        };
    }

    /// The animal in hand.
    pub fn animal<'a>(&self, sample: &'a SampleSheet) -> Option<&'a AnimalSheet> {
        sample.animals.get(self.at)
    }

    /// The photo in view with its position.
    pub fn photo_of<'a>(&self, animal: &'a AnimalSheet) -> Option<(usize, &'a PhotoSheet)> {
        let last = animal.photos.len().checked_sub(1)?;
        let at = self.photo.min(last);
        Some((at, &animal.photos[at]))
    }
}

/// What a person does on the photo itself.
#[derive(Debug)]
pub struct Hands<'a> {
    /// Points to be clicked.
    pub clicks: &'a mut Option<Clicks>,
    /// A correction that goes on.
    pub correcting: &'a mut Option<Correcting>,
}

/// Shows the place.
pub fn show(
    ui: &mut Ui,
    bench: &mut Bench,
    sample: &SampleSheet,
    gallery: &mut Gallery,
    hands: &mut Hands<'_>,
) -> Vec<Deed> {
    let mut deeds = Vec::new();
    if sample.animals.is_empty() {
        return empty(ui);
    }
    bench.at = bench.at.min(sample.animals.len() - 1);
    let tall = ui.available_height();
    Panel::bottom("tray-panel")
        .exact_size(tray::height(tall))
        .show(ui, |ui| {
            deeds.extend(tray::show(ui, gallery, sample, bench.at, bench.moved));
        });
    bench.moved = false;
    let Some(animal) = sample.animals.get(bench.at) else {
        return deeds;
    };
    let photo = bench.photo_of(animal);
    let wide = ui.available_width();
    Panel::right("side-panel")
        .default_size((0.3 * wide).clamp(270.0, 380.0))
        .size_range(230.0..=0.5 * wide)
        .show(ui, |ui| {
            ScrollArea::vertical()
                .auto_shrink(false)
                .show(ui, |ui| deeds.extend(side::show(ui, animal, photo)));
        });
    let frame = egui::Frame::new().inner_margin(egui::Margin::ZERO);
    egui::CentralPanel::no_frame().frame(frame).show(ui, |ui| {
        deeds.extend(middle(ui, bench, animal, gallery, hands));
    });
    prefetch(bench, sample, gallery);
    deeds
}

/// What there is before the first photo.
fn empty(ui: &mut Ui) -> Vec<Deed> {
    let mut deeds = Vec::new();
    ui.vertical_centered(|ui| {
        ui.add_space(0.3 * ui.available_height());
        ui.label(window::NO_SLIDE);
        ui.add_space(8.0);
        for action in [
            Action::AddPhotos,
            Action::AddFolder,
            Action::Watch,
            Action::CountByEye,
        ] {
            if action_button(ui, action).clicked() {
                deeds.push(Deed::Do(action));
            }
        }
    });
    deeds
}

/// The photo and under it the margin.
fn middle(
    ui: &mut Ui,
    bench: &mut Bench,
    animal: &AnimalSheet,
    gallery: &mut Gallery,
    hands: &mut Hands<'_>,
) -> Vec<Deed> {
    let mut deeds = Vec::new();
    let photo = bench.photo_of(animal).map(|(_, photo)| photo);
    let corrects = hands.correcting.as_ref().zip(photo);
    let corrects = corrects.filter(|(correcting, photo)| correcting.photo == photo.id);
    if let Some((correcting, photo)) = corrects {
        deeds.extend(correcting_bar(ui, correcting, photo));
    }
    let all = ui.available_size();
    let strip = (0.2 * all.y).clamp(70.0, 170.0);
    let size = vec2(all.x, all.y - strip - 6.0);
    let (area, response) = ui.allocate_exact_size(size, Sense::click_and_drag());
    let dark = ui.visuals().dark_mode;
    let ink = theme::ink(dark);
    ui.painter().rect_filled(area, 0.0, ink.bench);
    let words = |text: &str| {
        let font = FontId::proportional(14.0);
        let painter = ui.painter();
        painter.text(area.center(), Align2::CENTER_CENTER, text, font, ink.quiet);
    };
    if let Some(carried) = response.dnd_release_payload::<CarriedPhoto>() {
        deeds.push(Deed::Assign {
            photo: carried.0.clone(),
            animal: bench.at,
        });
    }
    let Some(photo) = photo else {
        words(window::NO_PHOTO);
        response.widget_info(|| WidgetInfo::labeled(Role::Image, true, window::NO_PHOTO));
        return deeds;
    };
    let shown = shown(animal, photo);
    lay_out(bench, photo);
    let label = window::photo_label(&photo.name);
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, &label));
    let painter = ui.painter_at(area);
    match photo_view::paint(&painter, gallery, &shown, &bench.eye, area) {
        Some(size) => {
            bench.last = Some((area, size));
            let (used, done) = hand_on_photo(ui, bench, &shown, &response, hands);
            deeds.extend(done);
            if !used {
                touch(ui, bench, &response, area, size);
            }
            lens(ui, bench, &shown, gallery, area);
        }
        None if photo.reading.is_some() && photo.size.is_none() => words(window::NOT_SHOWN),
        None => words(window::COMING),
    }
    ui.add_space(2.0);
    let laid_out = bench.laid_out.clone();
    if let Some(to) = straight::show(ui, gallery, &shown, laid_out.as_ref(), &bench.eye, area)
        && let Some((area, size)) = bench.last
    {
        bench.eye.look_at(to, area, size);
    }
    deeds
}

/// Buttons that move the lines by a tenth of a base width.
fn correcting_bar(ui: &mut Ui, correcting: &Correcting, photo: &PhotoSheet) -> Vec<Deed> {
    let mut deeds = Vec::new();
    let reading = photo.reading.as_deref();
    let step = 0.1
        * reading
            .and_then(|reading| reading.base_width_px)
            .unwrap_or(10.0);
    ui.horizontal_wrapped(|ui| {
        for (words, bases, edge) in [
            (window::ROW_OUT, -step, 0.0),
            (window::ROW_IN, step, 0.0),
            (window::EDGE_OUT, 0.0, -step),
            (window::EDGE_IN, 0.0, step),
        ] {
            let button = egui::Button::new(words);
            if ui.add_enabled(!correcting.reading, button).clicked() {
                deeds.push(Deed::Shift { bases, edge });
            }
        }
        for action in [Action::DrawGap, Action::Close] {
            if action_button(ui, action).clicked() {
                deeds.push(Deed::Do(action));
            }
        }
        ui.weak(window::TENTH);
        if correcting.reading {
            ui.spinner();
        }
    });
    deeds
}

/// Clicks and drags that mean something on the photo; says whether the pointer was used up.
fn hand_on_photo(
    ui: &Ui,
    bench: &Bench,
    shown: &Shown,
    response: &egui::Response,
    hands: &mut Hands<'_>,
) -> (bool, Vec<Deed>) {
    let Some((area, size)) = bench.last else {
        return (false, Vec::new());
    };
    let place = bench.eye.place(area, size);
    let on_photo = |at: Pos2| ((at - place.origin) / place.scale).to_pos2();
    let ink = theme::ink(ui.visuals().dark_mode);
    if let Some(clicks) = hands.clicks {
        if let Some(first) = clicks.first {
            ui.painter_at(area)
                .circle_filled(place.at(first), 4.0, ink.chosen);
        }
        if response.clicked()
            && let Some(at) = response.interact_pointer_pos()
        {
            let at = photo_view::point(on_photo(at));
            match clicks.first {
                None => clicks.first = Some(at),
                Some(first) => return (true, vec![Deed::Clicked([first, at])]),
            }
        }
        return (true, Vec::new());
    }
    let (Some(correcting), Some(found)) = (hands.correcting.as_mut(), shown.found.as_deref())
    else {
        return (false, Vec::new());
    };
    if response.drag_started()
        && let Some(at) = ui.input(|input| input.pointer.press_origin())
    {
        let at = on_photo(at);
        let reach = 14.0 / place.scale;
        correcting.held = line_at(found, at, reach).map(|held| (held, at, 0.0));
    }
    let Some((held, from, by)) = &mut correcting.held else {
        return (false, Vec::new());
    };
    if let (Some(at), Some(inward)) = (response.interact_pointer_pos(), inward_at(found, *from)) {
        *by = photo_view::point(on_photo(at))
            .minus(photo_view::point(*from))
            .dot(inward);
        let to = photo_view::point(*from).plus(inward.times(*by));
        let ends = [place.at(photo_view::point(*from)), place.at(to)];
        ui.painter_at(area)
            .line_segment(ends, egui::Stroke::new(2.0, ink.chosen));
    }
    if response.drag_stopped() {
        let (held, by) = (*held, *by);
        correcting.held = None;
        let (bases, edge) = match held {
            Held::Row => (by, 0.0),
            Held::Edge => (0.0, by),
        };
        return (true, vec![Deed::Shift { bases, edge }]);
    }
    (true, Vec::new())
}

fn shown(animal: &AnimalSheet, photo: &PhotoSheet) -> Shown {
    Shown {
        hash: photo.hash.clone(),
        path: photo.path.clone(),
        size: photo.size,
        found: photo.reading.clone().filter(|_| !animal.is_hidden()),
    }
}

fn lay_out(bench: &mut Bench, photo: &PhotoSheet) {
    match &photo.reading {
        Some(reading) => {
            if !bench
                .laid_out
                .as_ref()
                .is_some_and(|laid| laid.is_of(reading))
            {
                bench.laid_out = Some(LaidOut::new(Arc::clone(reading)));
            }
        }
        None => bench.laid_out = None,
    }
}

/// Zoom and pan by pointer.
fn touch(ui: &Ui, bench: &mut Bench, response: &egui::Response, area: Rect, size: [u32; 2]) {
    let per_point = ui.ctx().pixels_per_point();
    if response.dragged() {
        bench.eye.pan(response.drag_delta(), area, size);
    }
    if response.double_clicked() {
        if bench.eye.scale.is_none() {
            let at = response
                .interact_pointer_pos()
                .unwrap_or_else(|| area.center());
            let scale = bench.eye.scale_in(area, size);
            bench
                .eye
                .zoom(1.0 / per_point / scale, at, area, size, per_point);
        } else {
            bench.eye.fit();
        }
    }
    if let Some(at) = response.hover_pos() {
        let (scroll, pinch) = ui.input(|i| (i.smooth_scroll_delta().y, i.zoom_delta()));
        let factor = pinch * (scroll / 240.0).exp();
        if (factor - 1.0).abs() > 1e-4 {
            bench.eye.zoom(factor, at, area, size, per_point);
        }
    }
}

fn lens(ui: &Ui, bench: &Bench, shown: &Shown, gallery: &mut Gallery, area: Rect) {
    let Some((_, size)) = bench.last.filter(|_| bench.eye.lens) else {
        return;
    };
    let place = bench.eye.place(area, size);
    let at = ui
        .ctx()
        .pointer_hover_pos()
        .filter(|at| area.contains(*at))
        .or_else(|| {
            // Without a pointer the lens lies on the base nearest to the middle.
            let middle = ((area.center() - place.origin) / place.scale).to_pos2();
            let base = photo_view::nearest_base(shown.found.as_deref()?, middle)?;
            Some(place.origin + base.to_vec2() * place.scale)
        });
    let at: Pos2 = at.unwrap_or_else(|| area.center());
    let rim = theme::ink(ui.visuals().dark_mode).chosen;
    let around = Rect::from_center_size(at, vec2(1.0, 1.0));
    photo_view::lens(
        &ui.painter_at(area),
        gallery,
        shown,
        &bench.eye,
        [area, around],
        rim,
    );
}

/// The pictures of the animals that will be looked at next.
fn prefetch(bench: &Bench, sample: &SampleSheet, gallery: &mut Gallery) {
    use crate::desktop::gallery::Subject;
    let count = sample.animals.len();
    for step in [1, 2, count.saturating_sub(1)] {
        let animal = &sample.animals[(bench.at + step) % count];
        if let Some(photo) = animal
            .photos
            .first()
            .filter(|photo| photo.reading.is_some())
        {
            let shown = shown(animal, photo);
            gallery.ask(&shown.wanted(Subject::Preview, bench.eye.look));
        }
    }
}
