//! The relations that the program knows, held against the built-in rulebook and against one that declares some otherwise.

use crate::support::program::library::rulebook;
use crate::support::program::*;
use std::collections::BTreeSet;
use std::fs;
use whyrod::relations::ALL;

#[test]
fn the_built_in_rulebook_declares_every_one() {
    for known in &ALL {
        let relation = rulebook().relation(known.name).unwrap_or_else(|| panic!("{}", known.name));
        let roles = &rulebook().relations[relation.index()].roles;
        for role in known.roles {
            assert!(roles.iter().any(|declared| declared.name == *role), "{}: {role}", known.name);
        }
    }
    let names: BTreeSet<&str> = ALL.iter().map(|known| known.name).collect();
    assert_eq!(names.len(), ALL.len(), "one is listed several times");
}

/// The built-in rules with one text put in place of another in a file.
fn edited(file: &str, from: &str, to: &str) -> tempfile::TempDir {
    let folder = folder();
    for entry in fs::read_dir(built_in()).expect("the rules") {
        let path = entry.expect("a file").path();
        if path.extension().is_some_and(|ending| ending == "why") {
            let mut text = fs::read_to_string(&path).expect("a rule file");
            if path.ends_with(file) {
                assert!(text.contains(from), "{file} has no {from:?}");
                text = text.replace(from, to);
            }
            fs::write(folder.path().join(path.file_name().expect("a name")), text).expect("written");
        }
    }
    folder
}

#[test]
fn a_relation_that_is_missing_or_has_other_roles_is_named() {
    let missing = edited("change.why", "table never-plate(alloy: name)", "table sold-as-wire(alloy: name)");
    let path = missing.path().to_str().expect("a path");
    let page = run(["rulebook", "check", path]).with_status(0).out;
    assert!(page.contains("never-plate(alloy): list of metals that are not sold as plate"), "{page}");
    let other = edited(
        "change.why",
        "table never-plate(alloy: name)\n    reads \"{alloy} is",
        "table never-plate(metal: name)\n    reads \"{metal} is",
    );
    let path = other.path().to_str().expect("a path");
    let page = run(["rulebook", "check", path]).with_status(3).out;
    assert!(page.contains("the relation never-plate has other roles than the program knows"), "{page}");
}
