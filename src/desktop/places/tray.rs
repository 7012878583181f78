//! The tray: every animal of the sample along the bottom, grouped by netting station.

use crate::desktop::deeds::Deed;
use crate::desktop::desk::AnimalSheet;
use crate::desktop::desk::SampleSheet;
use crate::desktop::desk::Standing;
use crate::desktop::gallery::Gallery;
use crate::desktop::gallery::LayerKey;
use crate::desktop::gallery::Look;
use crate::desktop::gallery::Subject;
use crate::desktop::gallery::Wanted;
use crate::desktop::theme;
use crate::texts::window;
use egui::Align2;
use egui::Color32;
use egui::FontId;
use egui::Id;
use egui::Mesh;
use egui::Rect;
use egui::ScrollArea;
use egui::Sense;
use egui::Stroke;
use egui::StrokeKind;
use egui::Ui;
use egui::WidgetInfo;
use egui::accesskit::Role;
use egui::pos2;
use egui::vec2;

/// Width of one animal.
const WIDE: f32 = 76.0;
/// Room before the first animal of a station.
const STATION: f32 = 22.0;

/// Where the place is lower than this, the tray shows names and calls only, so that the photo stays
/// large.
const LOW: f32 = 480.0;

/// The height of the tray in a place of this height.
pub fn height(place: f32) -> f32 {
    if place < LOW {
        58.0
    } else {
        (0.17 * place).clamp(92.0, 128.0)
    }
}

/// What a drag carries: the id of a photo.
#[derive(Debug, Clone)]
pub struct CarriedPhoto(pub String);

/// Shows the tray, `at` being in hand, and returns what was asked for.
pub fn show(
    ui: &mut Ui,
    gallery: &mut Gallery,
    sample: &SampleSheet,
    at: usize,
    moved: bool,
) -> Vec<Deed> {
    let mut deeds = Vec::new();
    let lefts = lefts(sample);
    let all = lefts.last().map_or(0.0, |left| left + WIDE);
    let high = ui.available_height();
    ScrollArea::horizontal()
        .id_salt("tray")
        .auto_shrink(false)
        .show_viewport(ui, |ui, view| {
            let (area, _) = ui.allocate_exact_size(vec2(all, high - 10.0), Sense::hover());
            for (position, animal) in sample.animals.iter().enumerate() {
                let left = lefts[position];
                let rect = Rect::from_min_size(
                    pos2(area.min.x + left, area.min.y),
                    vec2(WIDE - 4.0, area.height()),
                );
                if position == at && moved {
                    ui.scroll_to_rect(rect.expand2(vec2(2.0 * WIDE, 0.0)), None);
                }
                let near = view.expand2(vec2(WIDE, 0.0));
                if near.x_range().contains(left) {
                    station(ui, sample, position, rect);
                    deeds.extend(tip(ui, gallery, animal, position, rect, position == at));
                }
            }
        });
    deeds
}

/// Where each animal begins.
fn lefts(sample: &SampleSheet) -> Vec<f32> {
    let mut left = 4.0;
    let mut before: Option<&Option<String>> = None;
    let named = sample.animals.iter().any(|animal| animal.station.is_some());
    sample
        .animals
        .iter()
        .map(|animal| {
            if named && before != Some(&animal.station) {
                left += STATION;
            }
            before = Some(&animal.station);
            let own = left;
            left += WIDE;
            own
        })
        .collect()
}

/// The name of the station before its first animal, written upwards.
fn station(ui: &Ui, sample: &SampleSheet, position: usize, rect: Rect) {
    let own = &sample.animals[position].station;
    let before = position.checked_sub(1).map(|i| &sample.animals[i].station);
    let named = sample.animals.iter().any(|animal| animal.station.is_some());
    if !named || before == Some(own) {
        return;
    }
    let name = own.as_deref().unwrap_or(window::NO_STATION);
    let ink = theme::ink(ui.visuals().dark_mode).quiet;
    let galley = ui
        .painter()
        .layout_no_wrap(name.to_owned(), FontId::proportional(12.0), ink);
    let at = pos2(
        rect.min.x - STATION + 2.0,
        rect.center().y + galley.size().x / 2.0,
    );
    let shape =
        egui::epaint::TextShape::new(at, galley, ink).with_angle(-std::f32::consts::FRAC_PI_2);
    ui.painter().add(shape);
}

fn tip(
    ui: &Ui,
    gallery: &mut Gallery,
    animal: &AnimalSheet,
    position: usize,
    rect: Rect,
    chosen: bool,
) -> Vec<Deed> {
    let mut deeds = Vec::new();
    let response = ui.interact(
        rect,
        Id::unique(("tip", &animal.id)),
        Sense::click_and_drag(),
    );
    let label = animal.in_words();
    response.widget_info(|| WidgetInfo::selected(Role::Button, true, chosen, &label));
    if response.clicked() {
        deeds.push(Deed::LookAt(position));
    }
    if let Some(photo) = animal.photos.last() {
        response.dnd_set_drag_payload(CarriedPhoto(photo.id.clone()));
    }
    if let Some(carried) = response.dnd_release_payload::<CarriedPhoto>() {
        deeds.push(Deed::Assign {
            photo: carried.0.clone(),
            animal: position,
        });
    }
    let receives = response.dnd_hover_payload::<CarriedPhoto>().is_some();
    let rim = if chosen || receives {
        2.5
    } else if response.has_focus() {
        1.5
    } else {
        0.0
    };
    draw(ui, gallery, animal, rect, rim);
    response.on_hover_text(label);
    deeds
}

/// Draws an animal, with a rim of this width where it is chosen or has the keyboard.
fn draw(ui: &Ui, gallery: &mut Gallery, animal: &AnimalSheet, rect: Rect, rim: f32) {
    let dark = ui.visuals().dark_mode;
    let ink = theme::ink(dark);
    let painter = ui.painter();
    let words = ui.visuals().text_color();
    let top = rect.min.y + 17.0;
    let picture = Rect::from_min_max(pos2(rect.min.x, top), pos2(rect.max.x, rect.max.y - 22.0));
    painter.rect_filled(picture, 2.0, ink.bench);
    let shown = animal.photos.first().filter(|_| picture.height() > 12.0);
    if let Some(photo) = shown {
        let key = LayerKey {
            hash: photo.hash.clone(),
            subject: Subject::Tip,
            look: Look::default(),
        };
        let wanted = Wanted {
            key,
            path: photo.path.clone(),
            reading: None,
            tiles: Vec::new(),
        };
        // A photo that waits to be read gets its tip from the reading, which decodes it anyway.
        let layer = if photo.reading.is_some() {
            gallery.ask(&wanted)
        } else {
            gallery.there(&wanted.key)
        };
        if let Some(tile) = layer.and_then(|layer| layer.tiles.values().next()) {
            let size = tile.texture.size_vec2();
            let scale = (picture.width() / size.x).max(picture.height() / size.y);
            let part = picture.size() / (size * scale);
            let uv = Rect::from_center_size(pos2(0.5, 0.5), part);
            let mut mesh = Mesh::with_texture(tile.texture.id());
            mesh.add_rect_with_uv(picture, uv, Color32::WHITE);
            painter.add(egui::Shape::mesh(mesh));
        }
    }
    let name = match animal.photos.len() {
        0 | 1 => animal.name.clone(),
        more => window::with_photos(&animal.name, more),
    };
    let small = FontId::proportional(12.0);
    painter.text(
        pos2(rect.min.x + 2.0, rect.min.y + 8.0),
        Align2::LEFT_CENTER,
        name,
        small.clone(),
        words,
    );
    if animal.second_wanted
        || (!animal.is_hidden() && animal.is_uncalled() && animal.is_ambiguous())
    {
        let at = pos2(rect.max.x - 2.0, rect.min.y + 8.0);
        painter.text(
            at,
            Align2::RIGHT_CENTER,
            window::SECOND_MARK,
            small.clone(),
            ink.notice,
        );
    }
    let foot = Rect::from_min_max(pos2(rect.min.x, rect.max.y - 20.0), rect.max);
    if let Some(stage) = animal.call.as_ref().and_then(|call| call.stage) {
        painter.rect_filled(foot, 2.0, theme::stage(stage, dark));
        let (font, ink) = (FontId::proportional(14.0), theme::words_on(stage));
        painter.text(
            foot.center(),
            Align2::CENTER_CENTER,
            stage.code(),
            font,
            ink,
        );
    } else {
        let stroke = Stroke::new(1.0, ink.hairline);
        painter.rect_stroke(foot, 2.0, stroke, StrokeKind::Inside);
        let refused = animal.standing() == Standing::Refused;
        let colour = if refused { ink.notice } else { ink.quiet };
        let word = animal.standing().words();
        painter.text(foot.center(), Align2::CENTER_CENTER, word, small, colour);
    }
    if rim > 0.0 {
        let stroke = Stroke::new(rim, ink.chosen);
        painter.rect_stroke(rect.expand(1.0), 3.0, stroke, StrokeKind::Outside);
    }
}
