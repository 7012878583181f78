//! What part of the world a picture shows, and how it lies in it.

use crate::geometry::Point;

/// The map between world coordinates (µm) and pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    /// Width in pixels.
    pub width: u32,
    /// Height in pixels.
    pub height: u32,
    /// Micrometres per pixel.
    pub umpx: f64,
    /// Turn of the world in the picture, in radians, from right to down.
    pub angle: f64,
    /// Whether the world is mirrored before it is turned.
    pub mirrored: bool,
    /// World point at the middle of the picture, in µm.
    pub centre: Point,
}

impl View {
    fn middle(&self) -> Point {
        Point::new(
            (f64::from(self.width) - 1.0) / 2.0,
            (f64::from(self.height) - 1.0) / 2.0,
        )
    }

    /// The world point under a pixel position.
    pub fn world(&self, pixel: Point) -> Point {
        self.ground().world(pixel)
    }

    /// The map from pixels to the world with its sines worked out.
    pub(crate) fn ground(&self) -> Ground {
        let (sin, cos) = libm::sincos(self.angle);
        let side = if self.mirrored { -1.0 } else { 1.0 };
        Ground {
            middle: self.middle(),
            centre: self.centre,
            right: Point::new(side * cos, -sin).times(self.umpx),
            down: Point::new(side * sin, cos).times(self.umpx),
        }
    }

    /// The pixel position of a world point.
    pub fn pixel(&self, world: Point) -> Point {
        let p = world.minus(self.centre).times(1.0 / self.umpx);
        let x = if self.mirrored { -p.x } else { p.x };
        let (sin, cos) = libm::sincos(self.angle);
        Point::new(x * cos - p.y * sin, x * sin + p.y * cos).plus(self.middle())
    }

    /// Says whether a pixel position lies in the picture, `inset` pixels from its border.
    pub fn holds(&self, pixel: Point, inset: f64) -> bool {
        pixel.x >= inset
            && pixel.y >= inset
            && pixel.x <= f64::from(self.width) - 1.0 - inset
            && pixel.y <= f64::from(self.height) - 1.0 - inset
    }

    /// Length of the picture's diagonal in µm.
    pub fn diagonal(&self) -> f64 {
        libm::hypot(f64::from(self.width), f64::from(self.height)) * self.umpx
    }

    /// The shorter side in µm.
    pub fn short_side(&self) -> f64 {
        f64::from(self.width.min(self.height)) * self.umpx
    }
}

/// World coordinates as sums of steps to the right and down.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Ground {
    middle: Point,
    centre: Point,
    right: Point,
    down: Point,
}

impl Ground {
    /// The world point under a pixel position.
    pub(crate) fn world(&self, pixel: Point) -> Point {
        let p = pixel.minus(self.middle);
        self.right
            .times(p.x)
            .plus(self.down.times(p.y))
            .plus(self.centre)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_pixel_goes_to_the_world_and_back(
            x in 0.0..1600.0_f64, y in 0.0..1200.0_f64, angle in -4.0..4.0_f64, mirrored: bool
        ) {
            let view = View { width: 1600, height: 1200, umpx: 0.7, angle, mirrored,
                centre: Point::new(20.0, -300.0) };
            let pixel = Point::new(x, y);
            prop_assert!(view.pixel(view.world(pixel)).distance(pixel) < 1e-6);
        }
    }
}
