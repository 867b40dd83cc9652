//! The rulebook that is compiled into the program, from the folder `rules`.

use crate::language::{Rulebook, RulebookError, read_rulebook_texts};
use include_dir::{Dir, include_dir};

static BUILT_IN: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/rules");

/// The built-in rulebook, read and checked.
///
/// # Errors
/// Every mistake in it; a program whose tests pass has none.
pub fn built_in() -> Result<Rulebook, RulebookError> {
    let files = built_in_files();
    read_rulebook_texts(files.iter().map(|(name, text)| (name.as_str(), *text)))
}

/// The files of the built-in rulebook, by their path below `rules`, in order.
pub fn built_in_files() -> Vec<(String, &'static str)> {
    let mut files = Vec::new();
    collect(&BUILT_IN, &mut files);
    files.sort_unstable();
    files
}

fn collect(folder: &'static Dir<'static>, files: &mut Vec<(String, &'static str)>) {
    for file in folder.files() {
        let name = file.path().to_string_lossy().replace('\\', "/");
        if let (true, Some(text)) = (name.ends_with(".why"), file.contents_utf8()) {
            files.push((name, text));
        }
    }
    folder.dirs().for_each(|folder| collect(folder, files));
}
