//! What is drawn, as plain shapes, and how shapes become pixels.
//!
//! Readings go in; [`shapes::Drawing`]s come out, which a window or a page may render with its own
//! means and [`raster`] renders into a picture. Nothing here measures or decides.

pub mod overlay;

pub mod palette;

pub mod raster;

pub mod shapes;

pub mod straight;

mod type_setting;
