//! From measures to a proposal: features, logistic fit, calibration, novelty, the model file.
//!
//! [`Measurements`](crate::measure::Measurements) go in, a [`Proposal`](proposal::Proposal) comes
//! out; labelled rows go in, a [`Model`](model::Model) comes out. Nothing here knows files of
//! photos, the painter or who labelled a row.

pub mod calibration;

pub mod comparison;

pub mod core;

pub mod evaluation;

pub mod features;

pub mod fitting;

pub mod gains;

pub mod limits;

pub mod logistic;

pub mod model;

mod newton;

pub mod novelty;

pub mod own;

pub mod proposal;

pub mod splits;

pub mod weighted;

pub mod witness;
