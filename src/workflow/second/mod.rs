//! The second reader: which slides are read twice, in what order, what the two readings say, at
//! this desk or by a file that is sent away.

pub mod away;

pub mod choosing;

pub mod error;

pub mod pairs;

pub mod rounds;
