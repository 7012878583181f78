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
        let p = pixel.minus(self.middle()).times(self.umpx);
        let (sin, cos) = libm::sincos(self.angle);
        let x = p.x * cos + p.y * sin;
        let y = -p.x * sin + p.y * cos;
        let x = if self.mirrored { -x } else { x };
        Point::new(x, y).plus(self.centre)
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
