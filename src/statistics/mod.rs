//! Numbers about numbers: no pixels, no stages.

pub mod robust;
