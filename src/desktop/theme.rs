//! How the window looks: every colour and size that a widget has, in a bright and a dark set.

use crate::drawing::scheme::Role;
use crate::drawing::scheme::Scheme;
use crate::drawing::shapes::Colour;
use crate::moult::Stage;
use egui::Color32;
use egui::Context;
use egui::CornerRadius;
use egui::FontFamily;
use egui::FontId;
use egui::Margin;
use egui::Stroke;
use egui::TextStyle;
use egui::Theme;
use egui::Visuals;
use egui::vec2;

/// Smallest and largest size of everything, as a factor.
pub const SIZES: [f32; 2] = [0.7, 2.5];

/// The colour of plain shapes as one of the window.
pub fn colour(colour: Colour) -> Color32 {
    let [r, g, b] = colour.rgb;
    Color32::from_rgba_unmultiplied(r, g, b, (255.0 * colour.opacity).round() as u8)
}

/// The colours of diagrams for the window as it is.
pub const fn scheme(dark: bool) -> Scheme {
    if dark { Scheme::Dark } else { Scheme::Paper }
}

/// The colour of a stage.
pub fn stage(stage: Stage, dark: bool) -> Color32 {
    colour(scheme(dark).stage(stage))
}

/// Words on the colour of a stage.
pub fn words_on(stage: Stage) -> Color32 {
    colour(Scheme::words_on(stage))
}

/// Colours beyond those of widgets.
#[derive(Debug, Clone, Copy)]
pub struct Ink {
    /// Behind photos.
    pub bench: Color32,
    /// What is in hand: the chosen animal, the place.
    pub chosen: Color32,
    /// Words that stand back.
    pub quiet: Color32,
    /// What a person should notice; it stands with words.
    pub notice: Color32,
    /// Behind what a person should notice.
    pub notice_ground: Color32,
    /// Fine lines.
    pub hairline: Color32,
}

/// The colours beyond those of widgets.
pub const fn ink(dark: bool) -> Ink {
    if dark {
        Ink {
            bench: rgb(17, 18, 21),
            chosen: rgb(132, 178, 226),
            quiet: rgb(164, 168, 176),
            notice: rgb(236, 214, 150),
            notice_ground: rgb(58, 52, 36),
            hairline: rgb(72, 76, 84),
        }
    } else {
        Ink {
            bench: rgb(214, 214, 209),
            chosen: rgb(0, 72, 150),
            quiet: rgb(84, 88, 96),
            notice: rgb(92, 62, 0),
            notice_ground: rgb(250, 240, 212),
            hairline: rgb(200, 202, 206),
        }
    }
}

/// The colour of words.
pub fn words(dark: bool) -> Color32 {
    colour(scheme(dark).of(Role::Words))
}

const fn rgb(r: u8, g: u8, b: u8) -> Color32 {
    Color32::from_rgb(r, g, b)
}

/// Gives the context both sets.
pub fn install(ctx: &Context) {
    for (theme, dark) in [(Theme::Light, false), (Theme::Dark, true)] {
        ctx.style_mut_of(theme, |style| {
            style.visuals = visuals(dark);
            style.text_styles = [
                (TextStyle::Small, 11.5),
                (TextStyle::Body, 14.0),
                (TextStyle::Button, 14.0),
                (TextStyle::Monospace, 13.0),
                (TextStyle::Heading, 19.0),
            ]
            .into_iter()
            .map(|(name, size)| {
                let family = if name == TextStyle::Monospace {
                    FontFamily::Monospace
                } else {
                    FontFamily::Proportional
                };
                (name, FontId::new(size, family))
            })
            .collect();
            style.spacing.item_spacing = vec2(8.0, 5.0);
            style.spacing.button_padding = vec2(9.0, 4.0);
            style.spacing.interact_size.y = 24.0;
            style.spacing.window_margin = Margin::same(14);
            style.animation_time = 0.0;
            style.interaction.selectable_labels = false;
        });
    }
    ctx.options_mut(|options| options.zoom_with_keyboard = false);
}

fn visuals(dark: bool) -> Visuals {
    let mut visuals = if dark {
        Visuals::dark()
    } else {
        Visuals::light()
    };
    let scheme = scheme(dark);
    let ink = ink(dark);
    let ground = if dark {
        rgb(30, 32, 37)
    } else {
        rgb(246, 245, 241)
    };
    visuals.panel_fill = ground;
    visuals.window_fill = if dark {
        rgb(38, 40, 46)
    } else {
        rgb(252, 251, 248)
    };
    visuals.extreme_bg_color = if dark {
        rgb(22, 23, 27)
    } else {
        rgb(255, 255, 255)
    };
    visuals.faint_bg_color = if dark {
        rgb(36, 38, 44)
    } else {
        rgb(238, 237, 232)
    };
    visuals.override_text_color = Some(colour(scheme.of(Role::Words)));
    visuals.weak_text_color = Some(ink.quiet);
    visuals.selection.bg_fill = if dark {
        rgb(44, 74, 108)
    } else {
        rgb(196, 216, 238)
    };
    visuals.selection.stroke = Stroke::new(1.5, ink.chosen);
    visuals.hyperlink_color = ink.chosen;
    visuals.warn_fg_color = ink.notice;
    visuals.error_fg_color = ink.notice;
    visuals.window_stroke = Stroke::new(1.0, ink.hairline);
    let radius = CornerRadius::same(3);
    let widgets = &mut visuals.widgets;
    for state in [
        &mut widgets.noninteractive,
        &mut widgets.inactive,
        &mut widgets.hovered,
        &mut widgets.active,
        &mut widgets.open,
    ] {
        state.corner_radius = radius;
    }
    widgets.noninteractive.bg_stroke = Stroke::new(1.0, ink.hairline);
    let rest = if dark {
        rgb(54, 58, 66)
    } else {
        rgb(228, 227, 221)
    };
    widgets.inactive.weak_bg_fill = rest;
    widgets.inactive.bg_fill = rest;
    let near = if dark {
        rgb(68, 74, 84)
    } else {
        rgb(214, 220, 226)
    };
    widgets.hovered.weak_bg_fill = near;
    widgets.hovered.bg_stroke = Stroke::new(1.0, ink.chosen);
    widgets.active.bg_stroke = Stroke::new(2.0, ink.chosen);
    widgets.active.weak_bg_fill = near;
    visuals
}
