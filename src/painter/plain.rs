//! Controlled scenes: everything given, nothing drawn, for tests of what reads the pictures.

use crate::geometry::Point;
use crate::moult::Stage;
use crate::painter::blade::Margin;
use crate::painter::blade::MarginForm;
use crate::painter::camera::Camera;
use crate::painter::condition::Condition;
use crate::painter::dice::Dice;
use crate::painter::row::evenly;
use crate::painter::scene::FootLook;
use crate::painter::scene::Label;
use crate::painter::scene::Look;
use crate::painter::scene::NewLook;
use crate::painter::scene::RimLook;
use crate::painter::scene::Scene;
use crate::painter::scene::ShaftLook;
use crate::painter::scene::Tip;
use crate::painter::scene::TissueLook;
use crate::painter::values::Values;
use crate::painter::view::View;
use crate::units::Micrometres;
use crate::units::MicrometresPerPixel;

/// What a controlled scene is made from.
#[derive(Debug, Clone, PartialEq)]
pub struct Plain {
    /// The criteria, lengths in base widths.
    pub values: Values,
    /// Width of every seta at its base line.
    pub base_width: Micrometres,
    /// Distance of the bases in base widths.
    pub spacing: f64,
    /// Scale of the picture.
    pub scale: MicrometresPerPixel,
    /// Width and height in pixels.
    pub size: (u32, u32),
    /// Curvature of the margin in 1/µm, convex positive.
    pub curvature: f64,
    /// Common tilt of the setae in radians.
    pub tilt: f64,
}

impl Plain {
    /// The middle of `stage`, 16 µm setae 2.6 widths apart, 1 µm per pixel, 1200 x 900, straight.
    ///
    /// `None` for E, which has no criteria.
    pub fn new(stage: Stage) -> Option<Self> {
        Some(Self {
            values: Values::at(stage, 0.5)?,
            base_width: Micrometres::new(16.0),
            spacing: 2.6,
            scale: MicrometresPerPixel::new(1.0).ok()?,
            size: (1200, 900),
            curvature: 0.0,
            tilt: 0.0,
        })
    }

    /// The scene: even light, no blur, no noise; the margin along x, tissue below it.
    pub fn scene(&self) -> Scene {
        let w = self.base_width.get();
        let view = View {
            width: self.size.0,
            height: self.size.1,
            umpx: self.scale.get(),
            angle: 0.0,
            mirrored: false,
            centre: Point::new(0.0, 0.0),
        };
        let form = MarginForm {
            bend: self.curvature,
            tip: 0.0,
            tip_reach: 1.0,
            wave: 0.0,
            wave_length: 1.0,
            most_turn: 1.35,
        };
        let reach = view.diagonal() * 1.2;
        let mut tip = Tip {
            margin: Margin::new(&form, reach, reach / 1000.0),
            base_width: w,
            spacing: self.spacing * w,
            values: self.values,
            setae: Vec::new(),
            tilt: self.tilt,
            look: Look::plain(w),
            cut: None,
            fold: None,
            seed: 1,
        };
        tip.setae = evenly(&tip, reach);
        Scene {
            label: Label::Stage {
                stage: self.values.stage(),
                out_of_step: false,
                ambiguous: false,
            },
            seed: 0,
            condition: Condition::Standard,
            animal: "plain".to_owned(),
            view,
            tip: Some(tip),
            marks: Vec::new(),
            camera: Camera::ideal(),
        }
    }
}

impl Scene {
    /// The same slide, turned by `angle` radians (from right to down) about the picture's middle.
    #[must_use]
    pub fn turned(mut self, angle: f64) -> Self {
        self.view.angle += angle;
        self
    }

    /// The same slide seen from its other side.
    #[must_use]
    pub fn mirrored(mut self) -> Self {
        self.view.mirrored = !self.view.mirrored;
        self.view.angle = -self.view.angle;
        self
    }

    /// The same slide under another objective: the picture keeps its size in pixels.
    #[must_use]
    pub fn rescaled(mut self, scale: MicrometresPerPixel) -> Self {
        self.view.umpx = scale.get();
        self
    }

    /// The same slide with `factor` times the light.
    #[must_use]
    pub fn brightened(mut self, factor: f64) -> Self {
        self.camera.exposure *= factor;
        self
    }

    /// The same slide moved by whole or part pixels, to the right and down.
    #[must_use]
    pub fn moved(mut self, right: f64, down: f64) -> Self {
        let middle = self.view.pixel(self.view.centre);
        let there = middle.minus(Point::new(right, down));
        self.view.centre = self.view.world(there);
        self
    }

    /// The same slide blurred by `sigma` pixels more or less.
    #[must_use]
    pub fn blurred(mut self, sigma: f64) -> Self {
        self.camera.blur = sigma;
        self
    }

    /// The same slide on a sensor with `electrons` at full scale and noise from `seed`.
    #[must_use]
    pub fn noisy(mut self, electrons: f64, seed: u64) -> Self {
        self.camera.full_well = electrons;
        self.camera.read_noise = 4.0;
        self.camera.seed = Dice::new(seed).seed();
        self
    }
}

impl Look {
    /// A look without texture, for setae `base_width` µm wide.
    pub fn plain(base_width: f64) -> Self {
        let shaft = ShaftLook {
            wall: base_width * 0.15,
            wall_od: 0.25,
            wall_soft: 0.5,
            core_od: 0.02,
            fringe: 0.0,
            tip: 0.3,
            taper: 0.0,
            bulb: 0.0,
            setules: 0.0,
            setule_reach: 2.0,
            setule_step: 6.0,
            setule_slant: 1.0,
            joints: 0.0,
        };
        let foot = FootLook {
            bar_od: 0.35,
            bar: 0.15,
            cones: 0,
            cone_od: 0.3,
            cone_height: 0.5,
            cone_at: 0.6,
            socket: 0.0,
            fill_depth: 0.8,
        };
        let rim = RimLook {
            offset: 0.75,
            od: 0.2,
            thickness: 2.0,
            fringe: 0.0,
            cuticle_od: 0.015,
            striae: 0.0,
        };
        let new = NewLook {
            width: 0.65,
            wall_od: 0.35,
            wall: 2.0,
            core_od: 0.03,
            setules: 0.3,
            setule_step: 6.0,
            tip: 0.6,
            free: 1.0,
        };
        Self {
            pigment: "red",
            pigment_ink: [0.15, 0.7, 0.6],
            tissue_ink: [0.14, 0.18, 0.2],
            cuticle_ink: [1.0; 3],
            shaft,
            foot,
            rim,
            tissue: TissueLook::plain(),
            new,
        }
    }
}

impl TissueLook {
    /// Tissue without texture.
    pub fn plain() -> Self {
        Self {
            edge_soft: 1.5,
            band: 0.4,
            band_plateau: 1.0,
            band_fade: 1.5,
            band_breaks: 0.0,
            mottle: [0.0; 3],
            mottle_length: [4.0, 20.0, 100.0],
            stretch: 1.0,
            stretch_angle: 0.0,
            cells: 0.0,
            cell_size: 15.0,
            grain: 0.0,
            grain_size: 3.0,
            scallop_shape: 1.0,
            ragged: 0.0,
            rays: 0.0,
            wrinkles: 0.0,
            wrinkle_step: 12.0,
            new_rim: 0.0,
            thinning: 0.0,
        }
    }
}
