//! The colours of diagrams, named by what they stand for.
//!
//! Hardness is one ramp of lightness, from pale straw (soft) to deep blue (hard), so that it
//! holds for every kind of colour vision and in grey print; the stage's code always stands
//! with it. Nothing is green for good or red for bad.

use crate::drawing::shapes::Colour;
use crate::moult::Stage;

/// What a colour stands for in a diagram.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// What everything lies on.
    Ground,
    /// Words, and lines that matter.
    Words,
    /// Words and lines that stand back.
    Quiet,
    /// Fine lines that only divide.
    Hairline,
    /// The shade of what counts as soft.
    SoftShade,
    /// A limit.
    Limit,
    /// The band of a forecast.
    Band,
    /// What is expected.
    Expected,
    /// The direction in which animals gather.
    Arrow,
    /// A span of nights or a planned drain.
    Bracket,
    /// The lit part of the moon.
    MoonLit,
    /// The dark part of the moon.
    MoonDark,
    /// Water or clear cuticle behind a drawn tip.
    Water,
    /// Tissue of a drawn tip.
    Tissue,
    /// The pigmented band and the colour cells of the tissue.
    Pigment,
    /// The walls of setae, the base line and the cuticle.
    Wall,
    /// The bright core of a seta.
    Core,
    /// New setae beneath the epidermis.
    NewSeta,
}

/// On what a diagram lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Scheme {
    /// White paper, or a bright window.
    #[default]
    Paper,
    /// A dark window.
    Dark,
}

impl Scheme {
    /// The colour of a role.
    pub const fn of(self, role: Role) -> Colour {
        let rgb = match self {
            Self::Paper => on_paper(role),
            Self::Dark => on_dark(role),
        };
        Colour::solid(rgb)
    }

    /// The colour of a stage: how hard its shell is.
    pub fn stage(self, stage: Stage) -> Colour {
        Colour::solid(ramp(hardness(stage)))
    }

    /// Words that can be read on the colour of a stage.
    pub fn words_on(stage: Stage) -> Colour {
        let dark = hardness(stage) > 0.6;
        Colour::solid(if dark { [255, 255, 255] } else { [24, 26, 32] })
    }
}

/// How hard the shell of a stage is on the ramp, 0 (just shed) to 1.
///
/// # Source
/// Our own order of colours: soft after the moult, hardest in D1, and giving again towards the
/// next moult, as Almeida Neto & Freire 2007 (abstract) found D2 and D3 to feel.
pub const fn hardness(stage: Stage) -> f64 {
    match stage {
        Stage::E => 0.0,
        Stage::A => 0.08,
        Stage::B => 0.28,
        Stage::C => 0.74,
        Stage::D0 => 0.87,
        Stage::D1 => 1.0,
        Stage::D2 => 0.82,
        Stage::D3 => 0.68,
        Stage::D4 => 0.55,
    }
}

/// The two ends of the ramp as lightness and the two opponent axes of Oklab.
const SOFT: [f64; 3] = [0.92, 0.005, 0.085];
const HARD: [f64; 3] = [0.36, -0.02, -0.11];

/// The colour at a place of the ramp, 0 to 1, as coded in sRGB.
///
/// # Source
/// A straight line in Oklab (Ottosson 2020, bottosson.github.io/posts/oklab; its numbers from
/// memory): equal steps look equally far apart.
pub fn ramp(place: f64) -> [u8; 3] {
    let place = place.clamp(0.0, 1.0);
    let at = |i: usize| SOFT[i] + (HARD[i] - SOFT[i]) * place;
    srgb([at(0), at(1), at(2)])
}

fn srgb([l, a, b]: [f64; 3]) -> [u8; 3] {
    let cube = |v: f64| v * v * v;
    let long = cube(l + 0.396_337_777_4 * a + 0.215_803_757_3 * b);
    let middle = cube(l - 0.105_561_345_8 * a - 0.063_854_172_8 * b);
    let short = cube(l - 0.089_484_177_5 * a - 1.291_485_548_0 * b);
    let linear = [
        4.076_741_662_1 * long - 3.307_711_591_3 * middle + 0.230_969_929_2 * short,
        -1.268_438_004_6 * long + 2.609_757_401_1 * middle - 0.341_319_396_5 * short,
        -0.004_196_086_3 * long - 0.703_418_614_7 * middle + 1.707_614_701_0 * short,
    ];
    linear.map(|v| {
        let v = v.clamp(0.0, 1.0);
        let coded = if v <= 0.003_130_8 {
            12.92 * v
        } else {
            1.055 * libm::pow(v, 1.0 / 2.4) - 0.055
        };
        (255.0 * coded).round() as u8
    })
}

const fn on_paper(role: Role) -> [u8; 3] {
    match role {
        Role::Ground => [255, 255, 255],
        Role::Words | Role::Limit | Role::Arrow | Role::Bracket => [24, 26, 32],
        Role::Quiet => [92, 96, 104],
        Role::Hairline => [200, 202, 206],
        Role::SoftShade => [244, 236, 210],
        Role::Band => [186, 200, 216],
        Role::Expected => [20, 60, 110],
        Role::MoonLit => [250, 246, 228],
        Role::MoonDark => [88, 92, 102],
        Role::Water => [248, 249, 246],
        Role::Tissue => [226, 206, 172],
        Role::Pigment => [122, 66, 34],
        Role::Wall => [52, 50, 50],
        Role::Core => [255, 255, 252],
        Role::NewSeta => [86, 84, 92],
    }
}

const fn on_dark(role: Role) -> [u8; 3] {
    match role {
        Role::Ground => [30, 32, 37],
        Role::Words | Role::Limit | Role::Arrow | Role::Bracket => [236, 237, 240],
        Role::Quiet => [164, 168, 176],
        Role::Hairline => [72, 76, 84],
        Role::SoftShade => [62, 58, 44],
        Role::Band => [66, 84, 106],
        Role::Expected => [172, 202, 240],
        Role::MoonLit => [244, 240, 220],
        Role::MoonDark => [84, 88, 98],
        // A drawn tip keeps its own bright ground.
        drawn => on_paper(drawn),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn luminance(rgb: [u8; 3]) -> f64 {
        let linear = rgb.map(|v| {
            let v = f64::from(v) / 255.0;
            if v <= 0.040_45 {
                v / 12.92
            } else {
                ((v + 0.055) / 1.055).powf(2.4)
            }
        });
        0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    }

    fn contrast(a: [u8; 3], b: [u8; 3]) -> f64 {
        let (a, b) = (luminance(a) + 0.05, luminance(b) + 0.05);
        a.max(b) / a.min(b)
    }

    /// Grey alone tells hardness: every step of the ramp is darker than the one before.
    #[test]
    fn the_ramp_falls_in_lightness_all_the_way() {
        let grey: Vec<f64> = (0..=20)
            .map(|i| luminance(ramp(f64::from(i) / 20.0)))
            .collect();
        assert!(grey.windows(2).all(|pair| pair[1] < pair[0]), "{grey:?}");
        assert!(contrast(ramp(0.0), ramp(1.0)) > 7.0);
    }

    /// WCAG 2.2, success criterion 1.4.3: 4.5 : 1 for words.
    #[test]
    fn words_can_be_read_on_every_ground() {
        for stage in Stage::ALL {
            let on = contrast(Scheme::Paper.stage(stage).rgb, Scheme::words_on(stage).rgb);
            assert!(on >= 4.5, "{stage} {on}");
        }
        for scheme in [Scheme::Paper, Scheme::Dark] {
            for role in [Role::Words, Role::Quiet, Role::Limit, Role::Expected] {
                let on = contrast(scheme.of(role).rgb, scheme.of(Role::Ground).rgb);
                assert!(on >= 4.5, "{role:?} {on}");
            }
        }
    }

    /// White and black of Oklab are those of sRGB (Ottosson 2020: L 1 and L 0 with a = b = 0).
    #[test]
    fn white_and_black_are_white_and_black() {
        assert_eq!(srgb([1.0, 0.0, 0.0]), [255; 3]);
        assert_eq!(srgb([0.0, 0.0, 0.0]), [0; 3]);
    }
}
