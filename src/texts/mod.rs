//! Words for every code: all visible text, so that it can be translated in one place.
//!
//! Each function takes a code or a value and gives the sentence a person reads. Nothing here
//! decides anything.

pub mod columns;

pub mod actions;

pub mod agreement;
pub mod cautions;
pub mod cycle;

pub mod dates;

pub mod demo;

pub mod diagrams;

pub mod key;

pub mod labels;

pub mod logbook;

pub mod model_card;

pub mod page;

pub mod photos;

pub mod practice;

pub mod readings;

pub mod refusals;

pub mod scales;

pub mod scores;

pub mod second;

pub mod forecast;
pub mod plan;
pub mod tally;

pub mod training;

pub mod window;
