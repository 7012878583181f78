//! What is there to be painted, as plain numbers.

use crate::geometry::Point;
use crate::moult::Stage;
use crate::painter::blade::Margin;
use crate::painter::camera::Camera;
use crate::painter::condition::Condition;
use crate::painter::ink::Mark;
use crate::painter::values::Values;
use crate::painter::view::View;

/// Optical densities of the three colour channels, red, green, blue.
pub type Hue = [f64; 3];

/// Everything that a picture is made of.
#[derive(Debug, Clone, PartialEq)]
pub struct Scene {
    /// What is known of the animal.
    pub label: Label,
    /// The seed that the scene was drawn from.
    pub seed: u64,
    /// The condition that it was drawn for.
    pub condition: Condition,
    /// Name of the animal.
    pub animal: String,
    /// What the picture shows.
    pub view: View,
    /// The tip of the uropod, where there is one.
    pub tip: Option<Tip>,
    /// Chromatophores, dirt and whatever else lies on the slide.
    pub marks: Vec<Mark>,
    /// The microscope and its camera.
    pub camera: Camera,
}

/// The truth about the stage.
#[derive(Debug, Clone, PartialEq)]
pub enum Label {
    /// A tip of one stage.
    Stage {
        /// The stage by the anatomy's rule.
        stage: Stage,
        /// Its criteria disagree.
        out_of_step: bool,
        /// A deciding measure lies near a border.
        ambiguous: bool,
    },
    /// A tip between a stage and the next.
    Between {
        /// The earlier stage.
        stage: Stage,
        /// The later stage.
        next: Stage,
        /// How far on the way, 0 to 1.
        toward: f64,
    },
    /// No readable tip; what it is instead.
    None(&'static str),
}

/// The tip of a uropod.
#[derive(Debug, Clone, PartialEq)]
pub struct Tip {
    /// The curve of the setal bases.
    pub margin: Margin,
    /// Mean outer width of the setae at the base line, in µm.
    pub base_width: f64,
    /// Mean distance of the bases along the margin, in µm.
    pub spacing: f64,
    /// The criteria of the animal.
    pub values: Values,
    /// The setae in the order of s, missing ones included.
    pub setae: Vec<Seta>,
    /// Common tilt of the setae's axes against the normal of the margin, in radians.
    pub tilt: f64,
    /// How it looks.
    pub look: Look,
    /// The clipped edge.
    pub cut: Option<Cut>,
    /// A second layer of blade.
    pub fold: Option<Fold>,
    /// Seed of the textures.
    pub seed: u64,
}

/// One seta with what belongs to it. Lengths in µm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seta {
    /// Position of its base along the margin.
    pub s: f64,
    /// Outer width at the base line.
    pub width: f64,
    /// Gap from the base line to the epidermis, across the margin.
    pub gap: f64,
    /// Pigment in its base, 0 to 1.
    pub base_pigment: f64,
    /// Pigment up its lumen, 0 to 1.
    pub lumen_pigment: f64,
    /// How far the pigment runs up, in base widths.
    pub lumen_reach: f64,
    /// Definition of its base line and cones, 0 to 1.
    pub line: f64,
    /// Depth of the scallop that follows it.
    pub scallop: f64,
    /// The new seta beneath it, 0 to 1.
    pub new_seta: f64,
    /// How far the new seta's tip lies outside the edge, in base widths.
    pub new_tip: f64,
    /// Length of the new seta, in base widths.
    pub new_length: f64,
    /// Tilt of its axis against the normal, in radians.
    pub tilt: f64,
    /// Bend of its axis, in 1/µm.
    pub bend: f64,
    /// Length of the shaft.
    pub length: f64,
    /// Half amplitude of the shaft's waves.
    pub wave: f64,
    /// What is left of it.
    pub state: SetaState,
}

/// What is left of a seta.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SetaState {
    /// Shaft and base.
    Whole,
    /// The base alone.
    Bare,
    /// Neither.
    Missing,
}

/// How a tip looks: the part of the picture that says nothing about the stage.
#[derive(Debug, Clone, PartialEq)]
pub struct Look {
    /// Name of the pigment's colour.
    pub pigment: &'static str,
    /// Density of the pigment per channel where its amount is 1.
    pub pigment_ink: Hue,
    /// Density of the tissue per channel.
    pub tissue_ink: Hue,
    /// Density of the cuticle per channel, walls and lines included.
    pub cuticle_ink: Hue,
    /// The shafts.
    pub shaft: ShaftLook,
    /// The line and the cones at their feet.
    pub foot: FootLook,
    /// The outer line of the cuticle.
    pub rim: RimLook,
    /// The epidermis.
    pub tissue: TissueLook,
    /// The new setae.
    pub new: NewLook,
}

/// How the shafts look.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShaftLook {
    /// Thickness of a wall, in µm.
    pub wall: f64,
    /// Density of a wall.
    pub wall_od: f64,
    /// Softness of a wall's edges, in µm.
    pub wall_soft: f64,
    /// Density of the core.
    pub core_od: f64,
    /// Density of a bright fringe inside (negative) or outside (positive) of the walls.
    pub fringe: f64,
    /// Width at the tip over width at the base.
    pub tip: f64,
    /// Share of the taper that grows with the square of the height.
    pub taper: f64,
    /// Swelling above the foot, as a part of the width.
    pub bulb: f64,
    /// Density of the setules' haze.
    pub setules: f64,
    /// How far the setules reach, in base widths.
    pub setule_reach: f64,
    /// Distance between setules, in µm.
    pub setule_step: f64,
    /// Slant of the setules.
    pub setule_slant: f64,
    /// Density of joints across the shaft.
    pub joints: f64,
}

/// How the feet of the shafts look.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FootLook {
    /// Density of the bar where it is crisp.
    pub bar_od: f64,
    /// Thickness of the bar, in base widths.
    pub bar: f64,
    /// Shape of the cones: 0 legs, 1 wedges, 2 bright wedges with dark sides.
    pub cones: u8,
    /// Density of the cones.
    pub cone_od: f64,
    /// Height of the cones, in base widths.
    pub cone_height: f64,
    /// Distance of the cones from the axis, as a part of the half width.
    pub cone_at: f64,
    /// Density of a ring around the base (a socket).
    pub socket: f64,
    /// How far the pigment fills the base inward, in base widths.
    pub fill_depth: f64,
}

/// How the outer line of the cuticle looks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RimLook {
    /// Its distance outside the base line, in base widths.
    pub offset: f64,
    /// Density of the line.
    pub od: f64,
    /// Thickness of the line, in µm.
    pub thickness: f64,
    /// Density of the bright companion; positive lies outside, negative inside.
    pub fringe: f64,
    /// Density of the old cuticle.
    pub cuticle_od: f64,
    /// Density of faint lines in the old cuticle.
    pub striae: f64,
}

/// How the epidermis looks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TissueLook {
    /// Softness of its edge (10 % to 90 %, about), in µm.
    pub edge_soft: f64,
    /// Density of the band under the edge, as a part of the pigment's density.
    pub band: f64,
    /// Depth of the band's full density, in base widths.
    pub band_plateau: f64,
    /// Depth over which the band fades, in base widths.
    pub band_fade: f64,
    /// Breaks in the band, 0 to 1.
    pub band_breaks: f64,
    /// Strength of the mottle at three lengths.
    pub mottle: [f64; 3],
    /// The lengths, in µm.
    pub mottle_length: [f64; 3],
    /// Stretch of the mottle along one direction.
    pub stretch: f64,
    /// Direction of the stretch, in radians.
    pub stretch_angle: f64,
    /// Strength of bright cells in the tissue.
    pub cells: f64,
    /// Their size, in µm.
    pub cell_size: f64,
    /// Grain of the pigment, 0 smooth to 1 dots.
    pub grain: f64,
    /// Size of the grains, in µm.
    pub grain_size: f64,
    /// Pointedness of the scallops: 1 is a sine, above rounder notches, below sharper.
    pub scallop_shape: f64,
    /// Raggedness of the edge between the setae, in base widths.
    pub ragged: f64,
    /// Density of veins of lighter tissue running inward from the setae.
    pub rays: f64,
    /// Density of wrinkles in the new cuticle.
    pub wrinkles: f64,
    /// Distance between wrinkles, in µm.
    pub wrinkle_step: f64,
    /// Density of the new cuticle's line along the edge.
    pub new_rim: f64,
    /// How much of the tissue's density fades inward over the picture.
    pub thinning: f64,
}

/// How the new setae look.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NewLook {
    /// Width, in widths of the old seta's base.
    pub width: f64,
    /// Density of the walls where they are dense.
    pub wall_od: f64,
    /// Thickness of a wall, in µm.
    pub wall: f64,
    /// Density of the core; negative is brighter than the tissue.
    pub core_od: f64,
    /// Strength of the setules' cross hatching.
    pub setules: f64,
    /// Distance between the setules, in µm.
    pub setule_step: f64,
    /// Width at the tip over the width.
    pub tip: f64,
    /// Darkness of what stands out of the tissue over that of what lies in it.
    pub free: f64,
}

/// The clipped edge: beyond it there is no blade.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cut {
    /// A point on the cut.
    pub at: Point,
    /// The direction away from the blade.
    pub away: Point,
    /// Depth of the teeth, in µm.
    pub teeth: f64,
    /// Length of the teeth, in µm.
    pub tooth_length: f64,
    /// Density of the smear along the cut.
    pub smear: f64,
}

/// A second layer of blade under the first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fold {
    /// Centre of the layer's round edge.
    pub centre: Point,
    /// Radius of the edge, in µm.
    pub radius: f64,
    /// Density relative to the tissue.
    pub strength: f64,
    /// Density of the edge's line.
    pub line: f64,
}
