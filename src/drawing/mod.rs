//! What is drawn, as plain shapes, and how shapes become pixels.
//!
//! Readings, tallies and forecasts go in; [`shapes::Drawing`]s come out, which a window or a page
//! may render with its own means and [`raster`] renders into a picture. Drawings on a photo count
//! in its pixels; diagrams have units of their own. Nothing here measures or decides.

pub mod curves;

pub mod key;

pub mod overlay;

pub mod palette;

pub mod raster;

pub mod ribbon;

pub mod ring;

pub mod scheme;

pub mod shapes;

pub mod stair;

pub mod straight;

mod type_setting;
