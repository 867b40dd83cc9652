//! Which cautions are said: those about the joint or the metal always, those about a filler only where the reader is advised to
//! use that filler there.

use super::report::{FewestFillers, JointReport};
use std::collections::{BTreeMap, BTreeSet};

/// For each joint, the fillers that the reader is advised to use there: its own best, and the one that serves the assembly.
pub fn about_fillers_in_use<'r>(
    joints: &'r [JointReport],
    fewest: &'r FewestFillers,
) -> BTreeMap<&'r str, BTreeSet<&'r str>> {
    let at_joint = |joint: &'r JointReport| {
        let own = joint.recommended.iter().map(String::as_str);
        let shared = fewest.covers.get(&joint.joint).map(String::as_str);
        (joint.joint.as_str(), own.chain(shared).collect())
    };
    joints.iter().map(at_joint).collect()
}

/// Whether a caution is said at a joint, by what it is about.
pub fn is_said(
    joint: &str,
    about: &str,
    fillers: &[String],
    in_use: &BTreeMap<&str, BTreeSet<&str>>,
) -> bool {
    let is_filler = fillers.iter().any(|filler| filler == about);
    !is_filler || in_use.get(joint).is_none_or(|fillers| fillers.contains(about))
}
