//! A photo in the middle of the window: where the eye is on it, and how it is drawn.

use crate::desktop::gallery::Gallery;
use crate::desktop::gallery::Layer;
use crate::desktop::gallery::LayerKey;
use crate::desktop::gallery::Look;
use crate::desktop::gallery::Subject;
use crate::desktop::gallery::Wanted;
use crate::desktop::gallery::tiles_of;
use crate::desktop::render;
use crate::desktop::render::Place;
use crate::drawing::overlay::Parts;
use crate::drawing::overlay::Pen;
use crate::drawing::overlay::marks;
use crate::geometry::Point;
use crate::records::Reading;
use egui::Color32;
use egui::Mesh;
use egui::Painter;
use egui::Pos2;
use egui::Rect;
use egui::Shape;
use egui::Vec2;
use egui::pos2;
use egui::vec2;
use std::path::PathBuf;
use std::sync::Arc;

/// Screen pixels per photo pixel at most: a pixel is then easily seen.
const NEAREST: f32 = 12.0;
/// How much nearer the lens shows than the photo around it.
const LENS: f32 = 3.0;
/// Radius of the lens in points.
const LENS_RADIUS: f32 = 110.0;

/// Where the eye is on a photo, and what is drawn on it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Eye {
    /// Points per photo pixel; absent for a photo that fits its place.
    pub scale: Option<f32>,
    /// The photo position in the middle.
    pub centre: Pos2,
    /// Brightness and contrast.
    pub look: Look,
    /// The marks.
    pub parts: Parts,
    /// Whether the lens is up.
    pub lens: bool,
}

impl Default for Eye {
    fn default() -> Self {
        Self {
            scale: None,
            centre: Pos2::ZERO,
            look: Look::default(),
            parts: Parts::ALL,
            lens: false,
        }
    }
}

/// A photo to be drawn.
#[derive(Debug, Clone)]
pub struct Shown {
    /// Hash of its bytes.
    pub hash: String,
    /// Where it is.
    pub path: PathBuf,
    /// Width and height in pixels; absent when not known yet.
    pub size: Option<[u32; 2]>,
    /// What was found in it, unless it is kept from the eye.
    pub found: Option<Arc<Reading>>,
}

impl Shown {
    /// The key of one of its pictures.
    pub fn key(&self, subject: Subject, look: Look) -> LayerKey {
        LayerKey {
            hash: self.hash.clone(),
            subject,
            look,
        }
    }

    /// A wish for one of its pictures.
    pub fn wanted(&self, subject: Subject, look: Look) -> Wanted {
        Wanted {
            key: self.key(subject, look),
            path: self.path.clone(),
            reading: None,
            tiles: Vec::new(),
        }
    }
}

impl Eye {
    /// Fits the photo again, keeping look and marks.
    pub const fn fit(&mut self) {
        self.scale = None;
    }

    /// Points per photo pixel of a photo in `place`.
    pub fn scale_in(&self, place: Rect, size: [u32; 2]) -> f32 {
        self.scale.unwrap_or_else(|| {
            let [w, h] = size.map(|side| side.max(1) as f32);
            (place.width() / w).min(place.height() / h)
        })
    }

    /// From photo pixels to the screen. Pixel centres are at whole numbers.
    pub fn place(&self, place: Rect, size: [u32; 2]) -> Place {
        let scale = self.scale_in(place, size);
        let centre = if self.scale.is_some() {
            self.centre
        } else {
            pos2(size[0] as f32 / 2.0, size[1] as f32 / 2.0)
        };
        Place {
            origin: place.center() - centre.to_vec2() * scale,
            scale,
        }
    }

    /// Magnifies by `factor` around a position on the screen, which stays where it is.
    pub fn zoom(&mut self, factor: f32, around: Pos2, place: Rect, size: [u32; 2], per_point: f32) {
        let before = self.place(place, size);
        let fit = Self {
            scale: None,
            ..*self
        }
        .scale_in(place, size);
        let scale = (before.scale * factor).clamp(fit.min(1.0 / per_point), NEAREST / per_point);
        if factor < 1.0 && scale <= fit {
            self.fit();
            return;
        }
        let under = (around - before.origin) / before.scale;
        self.scale = Some(scale);
        self.centre = (under - (around - place.center()) / scale).to_pos2();
        self.keep_in(size);
    }

    /// Sets the magnification around the middle.
    pub fn set_scale(&mut self, scale: f32, place: Rect, size: [u32; 2]) {
        let before = self.place(place, size);
        self.centre = ((place.center() - before.origin) / before.scale).to_pos2();
        self.scale = Some(scale);
    }

    /// Moves the photo by points of the screen.
    pub fn pan(&mut self, by: Vec2, place: Rect, size: [u32; 2]) {
        if self.scale.is_some() {
            self.centre -= by / self.scale_in(place, size);
            self.keep_in(size);
        }
    }

    /// Brings a photo position into the middle.
    pub fn look_at(&mut self, at: Pos2, place: Rect, size: [u32; 2]) {
        self.scale = Some(self.scale_in(place, size));
        self.centre = at;
        self.keep_in(size);
    }

    fn keep_in(&mut self, size: [u32; 2]) {
        let [w, h] = size.map(|side| side as f32);
        self.centre = pos2(self.centre.x.clamp(0.0, w), self.centre.y.clamp(0.0, h));
    }
}

/// Draws the tiles of a picture that are there, `factor` photo pixels to one of its own.
fn tiles(painter: &Painter, gallery: &Gallery, key: &LayerKey, factor: f32, place: Place) {
    let Some(layer) = gallery.there(key) else {
        return;
    };
    for tile in layer.tiles.values() {
        let inner = Rect::from_min_max(
            (tile.inner.min.to_vec2() * factor).to_pos2(),
            (tile.inner.max.to_vec2() * factor).to_pos2(),
        );
        let on_screen = render::placed(inner, place);
        if painter.clip_rect().intersects(on_screen) {
            let mut mesh = Mesh::with_texture(tile.texture.id());
            mesh.add_rect_with_uv(on_screen, tile.uv, Color32::WHITE);
            painter.add(Shape::mesh(mesh));
        }
    }
}

/// Draws a photo with what was found on it, and says whether anything of it is there yet.
pub fn paint(
    painter: &Painter,
    gallery: &mut Gallery,
    shown: &Shown,
    eye: &Eye,
    area: Rect,
) -> Option<[u32; 2]> {
    let look = eye.look;
    let preview = gallery
        .ask(&shown.wanted(Subject::Preview, look))
        .map(|layer| layer.size);
    // While another look is made, the one as taken stands in for it.
    let plain = shown.key(Subject::Preview, Look::default());
    let stand_in = gallery.there(&plain).map(|layer| layer.size);
    let own = preview.filter(|size| size[0] > 0).or(stand_in)?;
    let size = shown.size.unwrap_or(own);
    if own[0] == 0 {
        return None;
    }
    let factor = size[0] as f32 / own[0] as f32;
    let place = eye.place(area, size);
    // The tiles begin at pixel borders, half a pixel before the centres.
    let tiles_place = Place {
        origin: place.origin - vec2(0.5, 0.5) * place.scale,
        ..place
    };
    let painter = painter.with_clip_rect(area.intersect(painter.clip_rect()));
    let key = shown.key(Subject::Preview, look);
    if !gallery.there(&key).is_some_and(Layer::complete) && look != Look::default() {
        tiles(&painter, gallery, &plain, factor, tiles_place);
    }
    tiles(&painter, gallery, &key, factor, tiles_place);
    let per_point = painter.ctx().pixels_per_point();
    if shown.size.is_some() && place.scale * per_point * factor > 1.15 && factor > 1.0 {
        whole(&painter, gallery, shown, eye, size, tiles_place);
    }
    if let Some(reading) = &shown.found {
        let pen = Pen {
            line: f64::from(1.3 / place.scale),
            letters: f64::from(13.0 / place.scale),
        };
        render::paint(&painter, &marks(reading, pen, eye.parts), place);
    }
    Some(size)
}

/// The tiles of the whole photo that are in view.
fn whole(
    painter: &Painter,
    gallery: &mut Gallery,
    shown: &Shown,
    eye: &Eye,
    size: [u32; 2],
    place: Place,
) {
    let clip = painter.clip_rect();
    let corner = |at: Pos2| ((at - place.origin) / place.scale).to_pos2();
    let part = Rect::from_min_max(corner(clip.min), corner(clip.max));
    let key = shown.key(Subject::Whole, eye.look);
    let missing = gallery.missing(&key, &tiles_of(part, size));
    if !missing.is_empty() {
        let mut wanted = shown.wanted(Subject::Whole, eye.look);
        // A few at a time, so that those in the middle are there first.
        wanted.tiles = missing.into_iter().take(4).collect();
        gallery.ask(&wanted);
    }
    tiles(painter, gallery, &key, 1.0, place);
}

/// Draws the lens over a position of the screen.
pub fn lens(
    painter: &Painter,
    gallery: &mut Gallery,
    shown: &Shown,
    eye: &Eye,
    [area, at]: [Rect; 2],
    rim: Color32,
) {
    let Some(size) = shown.size else { return };
    let around = at.center();
    let place = eye.place(area, size);
    let under = ((around - place.origin) / place.scale).to_pos2();
    let per_point = painter.ctx().pixels_per_point();
    let near = Eye {
        scale: Some((place.scale * LENS).clamp(1.0 / per_point, NEAREST / per_point)),
        centre: under,
        ..*eye
    };
    let frame = Rect::from_center_size(around, Vec2::splat(2.0 * LENS_RADIUS));
    let own = painter.with_clip_rect(frame.intersect(area));
    own.rect_filled(frame, 0.0, Color32::BLACK);
    paint(&own, gallery, shown, &near, frame);
    own.rect_stroke(
        frame,
        0.0,
        egui::Stroke::new(2.0, rim),
        egui::StrokeKind::Inside,
    );
}

/// The base nearest to a photo position.
pub fn nearest_base(reading: &Reading, to: Pos2) -> Option<Pos2> {
    let bases = reading
        .setae
        .iter()
        .map(|seta| pos2(seta.x as f32, seta.y as f32));
    bases.min_by(|a, b| a.distance_sq(to).total_cmp(&b.distance_sq(to)))
}

/// A position of the screen as one of geometry.
pub fn point(at: Pos2) -> Point {
    Point::new(f64::from(at.x), f64::from(at.y))
}

#[cfg(test)]
mod tests {
    use super::*;

    const SIZE: [u32; 2] = [4000, 3000];

    fn area() -> Rect {
        Rect::from_min_size(pos2(100.0, 50.0), vec2(800.0, 600.0))
    }

    #[test]
    fn a_photo_fits_its_place_and_zooms_about_the_pointer() {
        let mut eye = Eye::default();
        assert!((eye.scale_in(area(), SIZE) - 0.2).abs() < 1e-6);
        let pointer = pos2(300.0, 200.0);
        let place = eye.place(area(), SIZE);
        let under = (pointer - place.origin) / place.scale;
        eye.zoom(2.0, pointer, area(), SIZE, 1.0);
        let place = eye.place(area(), SIZE);
        assert!((place.scale - 0.4).abs() < 1e-6);
        assert!(((pointer - place.origin) / place.scale - under).length() < 0.1);
        eye.zoom(0.1, pointer, area(), SIZE, 1.0);
        assert_eq!(eye.scale, None);
    }

    #[test]
    fn panning_moves_what_is_under_the_hand_and_stays_on_the_photo() {
        let mut eye = Eye::default();
        eye.pan(vec2(50.0, 0.0), area(), SIZE);
        assert_eq!(eye, Eye::default());
        eye.set_scale(1.0, area(), SIZE);
        eye.pan(vec2(50.0, -20.0), area(), SIZE);
        assert_eq!(eye.centre, pos2(1950.0, 1520.0));
        eye.pan(vec2(90_000.0, 0.0), area(), SIZE);
        assert_eq!(eye.centre.x, 0.0);
    }
}
