//! Which file a path leads to, so that one that was moved away under the program is noticed.

use std::fs;
use std::fs::Metadata;
use std::io;
use std::path::Path;

/// A file, whatever its name is now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::logbook) struct FileIdentity((u64, u64));

impl FileIdentity {
    /// The file that a path leads to now.
    pub(in crate::logbook) fn of(file: &Path) -> io::Result<Self> {
        fs::metadata(file).map(|metadata| Self(numbers(&metadata)))
    }

    /// Whether the path still leads to this file.
    pub(in crate::logbook) fn is_at(self, file: &Path) -> bool {
        Self::of(file).is_ok_and(|now| now == self)
    }
}

/// Device and file number, where the system has them; elsewhere only absence is noticed.
#[cfg(unix)]
fn numbers(metadata: &Metadata) -> (u64, u64) {
    use std::os::unix::fs::MetadataExt as _;
    (metadata.dev(), metadata.ino())
}

#[cfg(not(unix))]
const fn numbers(_: &Metadata) -> (u64, u64) {
    (0, 0)
}
