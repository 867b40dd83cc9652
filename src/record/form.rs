//! The form of records: its number, and the refusal of another.

use serde::de::{Deserialize, Deserializer, Error};

/// The form of record that this program writes and reads.
pub const FORM: u32 = 2;

/// The form of a record; another one than [`FORM`] is refused.
pub(super) fn form<'de, D: Deserializer<'de>>(from: D) -> Result<u32, D::Error> {
    let form = u32::deserialize(from)?;
    if form == FORM {
        return Ok(form);
    }
    Err(D::Error::custom(format_args!(
        "it is of form {form}, and this program reads form {FORM}; write it again with `whyrod record`"
    )))
}
