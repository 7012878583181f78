//! What a user can do, as functions that the command line and the window call.

pub mod forecasting;
pub mod moments;
pub mod planning;
pub mod tallying;
