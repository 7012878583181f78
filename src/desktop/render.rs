//! Plain shapes onto the screen.

use crate::desktop::theme;
use crate::drawing::curves::triangles;
use crate::drawing::shapes::Anchor;
use crate::drawing::shapes::Drawing;
use crate::drawing::shapes::Shape;
use crate::geometry::Point;
use egui::Align2;
use egui::FontId;
use egui::Mesh;
use egui::Painter;
use egui::Pos2;
use egui::Rect;
use egui::Response;
use egui::Sense;
use egui::Stroke;
use egui::Ui;
use egui::Vec2;
use egui::WidgetInfo;
use egui::accesskit::Role;
use egui::pos2;

/// From units of a drawing to points of the screen.
#[derive(Debug, Clone, Copy)]
pub struct Place {
    /// Where the origin of the drawing lies.
    pub origin: Pos2,
    /// Points per unit.
    pub scale: f32,
}

impl Place {
    /// A point of the drawing on the screen.
    pub fn at(self, point: Point) -> Pos2 {
        pos2(
            self.origin.x + point.x as f32 * self.scale,
            self.origin.y + point.y as f32 * self.scale,
        )
    }

    /// A point of the screen in the drawing.
    pub fn back(self, at: Pos2) -> Point {
        let from = at - self.origin;
        Point::new(
            f64::from(from.x / self.scale),
            f64::from(from.y / self.scale),
        )
    }
}

/// Paints shapes, first ones below.
pub fn paint(painter: &Painter, shapes: &[Shape], place: Place) {
    for shape in shapes {
        match shape {
            Shape::Line {
                points,
                width,
                colour,
            } => {
                let points: Vec<Pos2> = points.iter().map(|p| place.at(*p)).collect();
                let stroke = Stroke::new(*width as f32 * place.scale, theme::colour(*colour));
                painter.add(egui::Shape::line(points, stroke));
            }
            Shape::Circle {
                centre,
                radius,
                width,
                colour,
            } => {
                let (centre, radius) = (place.at(*centre), *radius as f32 * place.scale);
                let colour = theme::colour(*colour);
                match width {
                    Some(width) => {
                        let stroke = Stroke::new(*width as f32 * place.scale, colour);
                        painter.circle_stroke(centre, radius, stroke);
                    }
                    None => {
                        painter.circle_filled(centre, radius, colour);
                    }
                }
            }
            Shape::Area { points, colour } => area(painter, points, theme::colour(*colour), place),
            Shape::Label {
                at,
                text,
                size,
                anchor,
                strong,
                colour,
            } => {
                let align = match anchor {
                    Anchor::Start => Align2::LEFT_CENTER,
                    Anchor::Middle => Align2::CENTER_CENTER,
                    Anchor::End => Align2::RIGHT_CENTER,
                };
                // The line of letters is a little higher than the letters of the typeface.
                let font = FontId::proportional(0.92 * *size as f32 * place.scale);
                let (at, colour) = (place.at(*at), theme::colour(*colour));
                painter.text(at, align, text, font.clone(), colour);
                if *strong {
                    let beside = Vec2::new(0.035 * font.size, 0.0);
                    painter.text(at + beside, align, text, font, colour);
                }
            }
            // Captions stand in the corners of files; the window says the same beside the photo.
            Shape::Caption { .. } => {}
        }
    }
}

fn area(painter: &Painter, points: &[Point], colour: egui::Color32, place: Place) {
    let mut mesh = Mesh::default();
    for corners in triangles(points) {
        let first = mesh.vertices.len() as u32;
        for corner in corners {
            mesh.colored_vertex(place.at(corner), colour);
        }
        mesh.add_triangle(first, first + 1, first + 2);
    }
    painter.add(mesh);
}

/// Shows a drawing as large as it fits into `most`, with words for those who do not see it.
pub fn show(ui: &mut Ui, drawing: &Drawing, most: Vec2, in_words: &str) -> (Response, Place) {
    let own = Vec2::new(drawing.width as f32, drawing.height as f32);
    let scale = (most.x / own.x).min(most.y / own.y).max(0.05);
    let (rect, response) = ui.allocate_exact_size(own * scale, Sense::hover());
    let place = Place {
        origin: rect.min,
        scale,
    };
    if ui.is_rect_visible(rect) {
        paint(
            &ui.painter().with_clip_rect(rect.intersect(ui.clip_rect())),
            &drawing.shapes,
            place,
        );
    }
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, in_words));
    (response, place)
}

/// The rectangle of a part of a picture on the screen.
pub fn placed(rect: Rect, place: Place) -> Rect {
    Rect::from_min_max(
        place.origin + rect.min.to_vec2() * place.scale,
        place.origin + rect.max.to_vec2() * place.scale,
    )
}
