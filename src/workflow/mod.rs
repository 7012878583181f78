//! What a user can do, as functions.

pub mod painting;
