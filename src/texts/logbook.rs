//! Words of the logbook.

/// Said of a logbook that lies on a network or in a shared folder.
pub const SHARED_FOLDER: &str = "This logbook lies in a folder that other machines share. Only one program should have it \
     open at a time; a local folder with exports or merges is safer.";
