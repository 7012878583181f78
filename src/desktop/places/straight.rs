//! The straightened margin under the photo: all bases in a row, the gap a level band, the stage of
//! each seta above it.

use crate::desktop::gallery::Gallery;
use crate::desktop::gallery::Look;
use crate::desktop::gallery::Subject;
use crate::desktop::photo_view::Eye;
use crate::desktop::photo_view::Shown;
use crate::desktop::photo_view::point;
use crate::desktop::render;
use crate::desktop::render::Place;
use crate::desktop::theme;
use crate::drawing::shapes::Shape;
use crate::drawing::straight::StraightMargin;
use crate::geometry::Point;
use crate::moult::Stage;
use crate::records::Reading;
use crate::texts;
use crate::texts::window;
use crate::workflow::pictures::margin_name;
use egui::Align2;
use egui::Color32;
use egui::FontId;
use egui::Mesh;
use egui::Pos2;
use egui::Rect;
use egui::Sense;
use egui::Stroke;
use egui::Ui;
use egui::WidgetInfo;
use egui::accesskit::Role;
use egui::pos2;
use egui::vec2;
use std::sync::Arc;

/// Height of the band of stages above the margin.
const BAND: f32 = 16.0;

/// A straightened margin that was laid out for one reading.
#[derive(Debug, Clone)]
pub struct LaidOut {
    of: Arc<Reading>,
    margin: Option<StraightMargin>,
    name: String,
}

impl LaidOut {
    /// Lays out the margin of a reading.
    pub fn new(of: Arc<Reading>) -> Self {
        Self {
            margin: StraightMargin::of(&of).filter(|_| of.usable),
            name: margin_name(&of),
            of,
        }
    }

    /// Whether it is of this reading.
    pub fn is_of(&self, reading: &Arc<Reading>) -> bool {
        Arc::ptr_eq(&self.of, reading)
    }
}

/// Shows the margin in the magnification of the photo, and returns the photo position that a click
/// asks to look at.
pub fn show(
    ui: &mut Ui,
    gallery: &mut Gallery,
    shown: &Shown,
    laid_out: Option<&LaidOut>,
    eye: &Eye,
    photo_area: Rect,
) -> Option<Pos2> {
    let (area, response) = ui.allocate_exact_size(ui.available_size(), Sense::click());
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, window::STRAIGHT_MARGIN));
    let dark = ui.visuals().dark_mode;
    let ink = theme::ink(dark);
    let painter = ui.painter_at(area);
    painter.rect_filled(area, 0.0, ink.bench);
    let found = laid_out.and_then(|laid| Some((laid, laid.margin.as_ref()?)));
    let (Some((laid, margin)), Some(size)) = (found, shown.size) else {
        let font = FontId::proportional(13.0);
        painter.text(
            area.center(),
            Align2::CENTER_CENTER,
            window::NO_MARGIN,
            font,
            ink.quiet,
        );
        return None;
    };
    let mut wanted = shown.wanted(Subject::Margin(laid.name.clone()), Look::default());
    wanted.reading = Some(Arc::clone(&laid.of));
    wanted.key.look = eye.look;
    let key = wanted.key.clone();
    gallery.ask(&wanted);
    let place = placed(margin, eye, photo_area, size, area);
    if let Some(layer) = gallery.there(&key) {
        let origin = place.origin - vec2(0.5, 0.5) * place.scale;
        for tile in layer.tiles.values() {
            let on_screen = render::placed(tile.inner, Place { origin, ..place });
            let mut mesh = Mesh::with_texture(tile.texture.id());
            mesh.add_rect_with_uv(on_screen, tile.uv, Color32::WHITE);
            painter.add(egui::Shape::mesh(mesh));
        }
    }
    if let Some(found) = &shown.found {
        let mut drawing = margin.marks(found);
        thin(&mut drawing.shapes, place.scale);
        let parts = eye.parts;
        if parts.bases || parts.epidermis || parts.gaps {
            render::paint(&painter, &drawing.shapes, place);
        }
        stages(&painter, margin, found, place, area, dark);
        ruler(&painter, found, place.scale, area, dark);
    }
    let from_photo = ui
        .ctx()
        .pointer_hover_pos()
        .filter(|at| photo_area.contains(*at));
    if let Some(at) = from_photo {
        let own = margin.own(point(photo_at(at, eye, photo_area, size)));
        let at = place.at(own);
        painter.vline(at.x, area.y_range(), Stroke::new(1.0, ink.chosen));
    }
    let clicked = response
        .interact_pointer_pos()
        .filter(|_| response.clicked())?;
    let on_photo = margin.photo(place.back(clicked));
    Some(pos2(on_photo.x as f32, on_photo.y as f32))
}

/// Where the margin lies: the part next to the middle of the photo in the middle, the base line
/// below the band of stages.
fn placed(
    margin: &StraightMargin,
    eye: &Eye,
    photo_area: Rect,
    size: [u32; 2],
    area: Rect,
) -> Place {
    let scale = eye.scale_in(photo_area, size);
    let width = margin.width() as f32;
    let height = margin.height() as f32;
    let inner = area.with_min_y(area.min.y + BAND);
    let middle = if width * scale <= inner.width() {
        width / 2.0
    } else {
        let centre = photo_at(photo_area.center(), eye, photo_area, size);
        let half = inner.width() / scale / 2.0;
        (margin.own(point(centre)).x as f32).clamp(half, width - half)
    };
    let top = if height * scale <= inner.height() {
        inner.center().y - height * scale / 2.0
    } else {
        // The bases stay in view, a third from above.
        let base = margin.base_row() as f32 * scale;
        (inner.min.y + inner.height() / 3.0 - base)
            .max(inner.max.y - height * scale)
            .min(inner.min.y)
    };
    Place {
        origin: pos2(inner.center().x - middle * scale, top),
        scale,
    }
}

fn photo_at(at: Pos2, eye: &Eye, area: Rect, size: [u32; 2]) -> Pos2 {
    let place = eye.place(area, size);
    ((at - place.origin) / place.scale).to_pos2()
}

/// Lines stay as thin on the screen as those on the photo.
fn thin(shapes: &mut [Shape], scale: f32) {
    let unit = f64::from(1.0 / scale);
    for shape in shapes.iter_mut() {
        match shape {
            Shape::Line { width, .. } => *width = width.clamp(0.8 * unit, 1.6 * unit),
            Shape::Circle { radius, .. } => *radius = radius.clamp(1.5 * unit, 2.8 * unit),
            Shape::Label { size, .. } => *size = 12.0 * unit,
            _ => {}
        }
    }
}

/// A bar of a round length in the lower left corner.
fn ruler(painter: &egui::Painter, reading: &Reading, scale: f32, area: Rect, dark: bool) {
    let room = f64::from(area.width() / 5.0 / scale);
    let Some((long, text)) = texts::readings::bar(reading, room) else {
        return;
    };
    let colour = theme::words(dark);
    let from = area.left_bottom() + vec2(10.0, -9.0);
    let to = from + vec2(long as f32 * scale, 0.0);
    let galley = painter.layout_no_wrap(text, FontId::proportional(12.0), colour);
    let plate = Rect::from_min_max(
        from - vec2(6.0, 9.0),
        to + vec2(12.0 + galley.size().x, 8.0),
    );
    painter.rect_filled(plate, 2.0, theme::ink(dark).bench);
    painter.line_segment([from, to], Stroke::new(2.0, colour));
    let at = to + vec2(6.0, -galley.size().y / 2.0);
    painter.galley(at, galley, colour);
}

/// The stage of each seta by itself: one bar for each run of equal ones, with its code.
fn stages(
    painter: &egui::Painter,
    margin: &StraightMargin,
    reading: &Reading,
    place: Place,
    area: Rect,
    dark: bool,
) {
    let setae: Vec<(f32, Stage)> = reading
        .setae
        .iter()
        .filter_map(|seta| {
            let own = margin.own(Point::new(seta.x, seta.y));
            Some((place.at(own).x, seta.stage?))
        })
        .collect();
    let half = 0.5 * reading.spacing_px.unwrap_or(0.0) as f32 * place.scale;
    for run in setae.chunk_by(|a, b| a.1 == b.1) {
        let (Some(first), Some(last)) = (run.first(), run.last()) else {
            continue;
        };
        let bar = Rect::from_min_max(
            pos2(first.0 - half, area.min.y),
            pos2(last.0 + half, area.min.y + BAND - 2.0),
        );
        painter.rect_filled(bar, 2.0, theme::stage(first.1, dark));
        let middle = bar.intersect(area);
        if middle.width() > 14.0 {
            let font = FontId::proportional(11.0);
            let ink = theme::words_on(first.1);
            painter.text(
                middle.center(),
                Align2::CENTER_CENTER,
                first.1.code(),
                font,
                ink,
            );
        }
    }
}
