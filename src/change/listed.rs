//! A job as it would be with one filler more on the list that it chooses from.

use super::session::{ChangeError, Session};
use super::setting::{Path, Setting, Written};
use super::text::JobText;
use crate::job::Job;

/// Where a job lists the fillers that it chooses from.
const LIST: [&str; 2] = ["choice", "available"];

/// The job with a filler added to the fillers that it lists; `None` where it lists none, or lists this one already.
///
/// # Errors
/// Where the job cannot be read again.
pub fn with_listed(session: &Session<'_>, job: &Job, filler: &str) -> Result<Option<Job>, ChangeError> {
    let path = Path::new(LIST);
    let text = JobText::of(job)?;
    let Some(Written::List(mut listed)) = text.value(&path) else { return Ok(None) };
    if job.available.iter().any(|known| **known == *filler) {
        return Ok(None);
    }
    listed.push(Written::Text(filler.to_owned()));
    session.changed(&text, &[Setting { path, value: Written::List(listed) }]).map(Some)
}
