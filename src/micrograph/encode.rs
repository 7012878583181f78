//! Pictures to files.
