//! Files are written beside their place and then take its name, so that whoever looks finds the old file or the new one,
//! whole. What is write-protected stays as it is.

use std::fs::{self, File, OpenOptions};
use std::io::{self, BufWriter, ErrorKind, Write};
use std::path::{Path, PathBuf};

/// What becomes of a file that is there.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Present {
    /// It stays, and nothing is written.
    Stays,
    /// It is replaced.
    Replaced,
}

/// Why a file was not written.
#[derive(Debug, thiserror::Error)]
pub enum WriteError {
    /// There is a file of that name.
    #[error("{file}: there is such a file")]
    Present {
        /// The file.
        file: String,
    },
    /// The file must not be written to.
    #[error("{file}: the file is write-protected, and stays as it is")]
    Protected {
        /// The file.
        file: String,
    },
    /// The system refuses.
    #[error("{file}: {error}")]
    Failed {
        /// The file.
        file: String,
        /// Why.
        error: io::Error,
    },
}

/// Writes a file. Where `fill` fails or the program is stopped, what was there is untouched.
pub fn write(
    path: &Path,
    present: Present,
    fill: impl FnOnce(&mut dyn Write) -> io::Result<()>,
) -> Result<(), WriteError> {
    let file = || path.display().to_string();
    let failed = |error: io::Error| match error.kind() {
        ErrorKind::AlreadyExists => WriteError::Present { file: file() },
        _ => WriteError::Failed { file: file(), error },
    };
    let there = match fs::symlink_metadata(path) {
        Ok(_) if present == Present::Stays => return Err(WriteError::Present { file: file() }),
        Ok(_) => true,
        Err(error) if error.kind() == ErrorKind::NotFound => false,
        Err(error) => return Err(failed(error)),
    };
    // A link stays a link: what it leads to is replaced.
    let real = if there { fs::canonicalize(path).map_err(failed)? } else { path.to_owned() };
    let old = if there { Some(fs::metadata(&real).map_err(failed)?) } else { None };
    if let Some(old) = &old {
        if old.permissions().readonly() {
            return Err(WriteError::Protected { file: file() });
        }
        // Others than the owner learn from the system itself whether they may write.
        let opened = OpenOptions::new().write(true).open(&real).map_err(|error| match error.kind() {
            ErrorKind::PermissionDenied => WriteError::Protected { file: file() },
            _ => failed(error),
        })?;
        if !old.is_file() {
            // A terminal, a pipe: there is nothing to replace.
            return filled(opened, fill).map(drop).map_err(failed);
        }
    }
    let folder = match real.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.to_owned(),
        _ => PathBuf::from("."),
    };
    let beside = beside(&folder).map_err(failed)?;
    let (written, place) = beside.into_parts();
    let written = filled(written, fill).map_err(failed)?;
    if let Some(old) = &old {
        written.set_permissions(old.permissions()).map_err(failed)?;
    }
    written.sync_all().map_err(failed)?;
    let moved = match present {
        Present::Replaced => place.persist(&real),
        Present::Stays => place.persist_noclobber(&real),
    };
    moved.map_err(|error| failed(error.error))
}

fn filled(file: File, fill: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> io::Result<File> {
    let mut out = BufWriter::new(file);
    fill(&mut out)?;
    out.into_inner().map_err(|error| error.into_error())
}

/// A new file in a folder, with the permissions that any new file has there.
fn beside(folder: &Path) -> io::Result<tempfile::NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".whyrod-");
    #[cfg(unix)]
    let builder = {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666))
    };
    builder.tempfile_in(folder)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(text: &'static str) -> impl FnOnce(&mut dyn Write) -> io::Result<()> {
        move |out| out.write_all(text.as_bytes())
    }

    #[test]
    fn an_interrupted_writer_leaves_the_old_file_and_nothing_beside_it() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("a.json");
        write(&path, Present::Stays, text("old")).expect("a new file");
        let broken = write(&path, Present::Replaced, |out| {
            out.write_all(b"half")?;
            Err(io::Error::other("the disk is full"))
        });
        assert!(matches!(broken, Err(WriteError::Failed { .. })), "{broken:?}");
        assert_eq!(fs::read_to_string(&path).expect("the file"), "old");
        assert_eq!(fs::read_dir(folder.path()).expect("the folder").count(), 1);
        assert!(matches!(write(&path, Present::Stays, text("new")), Err(WriteError::Present { .. })));
        write(&path, Present::Replaced, text("new")).expect("replaced");
        assert_eq!(fs::read_to_string(&path).expect("the file"), "new");
    }

    #[test]
    fn what_is_write_protected_stays() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("a.json");
        fs::write(&path, "old").expect("a file");
        let mut permissions = fs::metadata(&path).expect("the file").permissions();
        permissions.set_readonly(true);
        fs::set_permissions(&path, permissions).expect("protected");
        let refused = write(&path, Present::Replaced, text("new"));
        assert!(matches!(refused, Err(WriteError::Protected { .. })), "{refused:?}");
        assert_eq!(fs::read_to_string(&path).expect("the file"), "old");
    }

    #[cfg(unix)]
    #[test]
    fn links_and_permissions_stay() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().expect("a folder");
        let (path, link) = (folder.path().join("a.json"), folder.path().join("link"));
        fs::write(&path, "old").expect("a file");
        fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).expect("permissions");
        std::os::unix::fs::symlink(&path, &link).expect("a link");
        write(&link, Present::Replaced, text("new")).expect("replaced");
        assert!(fs::symlink_metadata(&link).expect("the link").is_symlink());
        assert_eq!(fs::read_to_string(&path).expect("the file"), "new");
        assert_eq!(fs::metadata(&path).expect("the file").permissions().mode() & 0o777, 0o640);
    }
}
