//! What is true of a painted picture, as one line of `truth.jsonl`.

use crate::painter::scene::Label;
use crate::painter::scene::Scene;
use crate::painter::scene::Seta;
use crate::painter::scene::Tip;
use serde::Deserialize;
use serde::Serialize;

/// The truth of one picture. Lengths in µm where named so, positions in pixels.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Truth {
    /// Name of the file, without folders.
    pub file: String,
    /// `A` to `D3`; two stages with a slash between for a tip on the way; `none` for no tip.
    pub stage: String,
    /// The condition, under the name that the hand-made slides use.
    pub look: String,
    /// The condition.
    pub condition: String,
    /// Name of the animal.
    pub animal: String,
    /// The seed.
    pub seed: u64,
    /// Width in pixels.
    pub width: u32,
    /// Height in pixels.
    pub height: u32,
    /// Micrometres per pixel.
    pub umpx: f64,
    /// What is painted where there is no readable tip.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub kind: Option<String>,
    /// How far on the way to the next stage, 0 to 1.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub toward_next: Option<f64>,
    /// The criteria disagree with each other.
    #[serde(default)]
    pub out_of_step: bool,
    /// A deciding measure lies near a border.
    #[serde(default)]
    pub ambiguous: bool,
    /// What was measured on the painted tip.
    #[serde(flatten)]
    pub tip: Option<TipTruth>,
}

/// The truth about a tip.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TipTruth {
    /// Median gap of the setae in view.
    pub gap_um: f64,
    /// Mean distance of neighbouring bases along the margin.
    pub spacing_um: f64,
    /// Median width of the setae in view at their base line.
    pub seta_width_um: f64,
    /// Pigment in the bases, 0 to 1.
    pub base_pigment: f64,
    /// Pigment up the lumen, 0 to 1.
    pub lumen_pigment: f64,
    /// Definition of the base line, 0 to 1.
    pub line: f64,
    /// New setae, 0 to 1.
    pub new_seta: f64,
    /// Depth of the scallops.
    pub scallop_um: f64,
    /// Name of the pigment's colour.
    pub pigment: String,
    /// Density of the full pigment in its strongest channel.
    pub pigment_od: f64,
    /// Every base line in view: x px, y px, gap µm.
    pub setae: Vec<[f64; 3]>,
}

impl Truth {
    /// The truth of a scene whose picture will be written as `file`.
    pub fn of(scene: &Scene, file: &str) -> Self {
        let (stage, toward_next, out_of_step, ambiguous) = match &scene.label {
            Label::Stage {
                stage,
                out_of_step,
                ambiguous,
            } => (stage.code().to_owned(), None, *out_of_step, *ambiguous),
            Label::Between {
                stage,
                next,
                toward,
            } => (
                format!("{}/{}", stage.code(), next.code()),
                Some(round(*toward, 3)),
                false,
                true,
            ),
            Label::None(_) => ("none".to_owned(), None, false, false),
        };
        let kind = match &scene.label {
            Label::None(kind) => Some((*kind).to_owned()),
            _ => None,
        };
        let readable = kind.is_none();
        Self {
            file: file.to_owned(),
            stage,
            look: scene.condition.name().to_owned(),
            condition: scene.condition.name().to_owned(),
            animal: scene.animal.clone(),
            seed: scene.seed,
            width: scene.view.width,
            height: scene.view.height,
            umpx: scene.view.umpx,
            kind,
            toward_next,
            out_of_step,
            ambiguous,
            tip: scene
                .tip
                .as_ref()
                .filter(|_| readable)
                .map(|tip| TipTruth::of(scene, tip)),
        }
    }
}

impl TipTruth {
    fn of(scene: &Scene, tip: &Tip) -> Self {
        let seen: Vec<&Seta> = tip
            .with_base()
            .filter(|seta| scene.shows(tip, seta))
            .collect();
        let middle = |value: fn(&Seta) -> f64| median(seen.iter().map(|seta| value(seta)));
        let strongest = tip.look.pigment_ink.iter().copied().fold(0.0, f64::max);
        Self {
            gap_um: round(middle(|seta| seta.gap), 3),
            spacing_um: round(tip.spacing, 3),
            seta_width_um: round(middle(|seta| seta.width), 3),
            base_pigment: round(middle(|seta| seta.base_pigment), 4),
            lumen_pigment: round(middle(|seta| seta.lumen_pigment), 4),
            line: round(middle(|seta| seta.line), 4),
            new_seta: round(middle(|seta| seta.new_seta), 4),
            scallop_um: round(middle(|seta| seta.scallop), 3),
            pigment: tip.look.pigment.to_owned(),
            pigment_od: round(strongest, 4),
            setae: seen
                .iter()
                .map(|seta| {
                    let pixel = scene.view.pixel(tip.base(seta));
                    [round(pixel.x, 2), round(pixel.y, 2), round(seta.gap, 2)]
                })
                .collect(),
        }
    }
}

impl Scene {
    /// How many bases lie in view.
    pub(crate) fn bases_in_view(&self) -> usize {
        self.tip.as_ref().map_or(0, |tip| {
            tip.with_base().filter(|seta| self.shows(tip, seta)).count()
        })
    }

    /// Says whether the base line of `seta` lies in the picture and in its lit field.
    pub fn shows(&self, tip: &Tip, seta: &Seta) -> bool {
        let pixel = self.view.pixel(tip.base(seta));
        if !self.view.holds(pixel, 1.0) {
            return false;
        }
        let Some(field) = &self.camera.field else {
            return true;
        };
        let short = f64::from(self.view.width.min(self.view.height));
        let x = (pixel.x - (f64::from(self.view.width) - 1.0) / 2.0) / short - field.x;
        let y = (pixel.y - (f64::from(self.view.height) - 1.0) / 2.0) / short - field.y;
        libm::hypot(x, y) < field.radius - field.soft
    }
}

fn round(value: f64, digits: i32) -> f64 {
    let scale = 10_f64.powi(digits);
    (value * scale).round() / scale
}

fn median(values: impl Iterator<Item = f64>) -> f64 {
    let mut sorted: Vec<f64> = values.collect();
    sorted.sort_by(f64::total_cmp);
    match sorted.len() {
        0 => 0.0,
        n if n % 2 == 1 => sorted[n / 2],
        n => f64::midpoint(sorted[n / 2 - 1], sorted[n / 2]),
    }
}
