//! Files: lamp folders read, results written, and nothing outside the folder that was named.

mod lamp_folder;
mod run_file;
mod writing;

pub use lamp_folder::{LampFolder, MAX_FILE_BYTES, read_bounded};
pub use run_file::{Resumed, RunFile, bench_folder, write_new_sheet};
pub use writing::{Unpacked, UnpackedFile, is_empty_or_absent, unpack_new, unpack_over, write_result};

/// A path as it is printed in messages.
pub(crate) fn shown(path: &std::path::Path) -> String {
    path.to_string_lossy().into_owned()
}
