//! What a user can do, as functions that the command line and the window share.

pub mod agreeing;

pub mod animals;

pub mod batch;

pub mod blind;

pub mod carrying;

pub mod collect;

pub mod correcting;

pub mod demo;

pub mod drift;

pub mod farm_training;

pub mod jobs;

pub mod labelled;

pub mod logbook;

pub mod looks;

pub mod made_up;

pub mod opening;

pub mod overlays;

pub mod own_scores;

pub mod painted_rows;

pub mod painting;

pub mod practice;

pub mod reading;

pub mod reading_again;

pub mod report;
pub mod results;

pub mod scaling;

pub mod scoring;

pub mod second;

mod dated;
pub mod forecasting;
pub mod moments;
pub mod own_cycle;
pub mod pictures;
pub mod planning;
pub mod tallying;

pub mod training;

pub mod watching;
