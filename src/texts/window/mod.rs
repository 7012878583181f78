//! Words of the window beyond the names of actions.

mod forms;

mod places;

mod readers;

mod slides;

mod told;

mod training;

pub use crate::texts::window::forms::*;
pub use crate::texts::window::places::*;
pub use crate::texts::window::readers::*;
pub use crate::texts::window::slides::*;
pub use crate::texts::window::told::*;

/// Title of the window.
pub const TITLE: &str = "Tailfan";
pub use crate::texts::window::training::*;
