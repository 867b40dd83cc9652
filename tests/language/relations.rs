//! The relations that the program knows, held against the built-in rulebook and against one that declares some otherwise.

use crate::support::program::library::rulebook;
use crate::support::program::*;
use std::collections::BTreeSet;
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

/// The small rulebook with a text put behind one of its files.
fn with(more: &str) -> tempfile::TempDir {
    let folder = folder();
    let rules = folder.path().join("rules");
    copy_rules(&root().join("tests/rulebooks/small/rules"), &rules, str::to_owned, |file, text| {
        if file.ends_with("choice.why") { format!("{text}\n{more}") } else { text }
    });
    folder
}

#[test]
fn a_relation_that_is_missing_or_has_other_roles_is_named() {
    let small = root().join("tests/rulebooks/small/rules");
    let page = run(["rulebook", "check", small.to_str().expect("a path")]).with_status(0).out;
    assert!(page.contains("never-plate(alloy): list of metals that are not sold as plate"), "{page}");
    let table = |role: &str| {
        format!(
            "table never-plate({role}: name)\n    reads \"{{{role}}} is wire\"\n    cite common practice\n    X1\n"
        )
    };
    let declared = with(&table("alloy"));
    let page = run(["rulebook", "check", declared.path().to_str().expect("a path")]).with_status(0).out;
    assert!(!page.contains("never-plate"), "{page}");
    let other = with(&table("metal"));
    let page = run(["rulebook", "check", other.path().to_str().expect("a path")]).with_status(3).out;
    assert!(page.contains("the relation never-plate has other roles than the program knows"), "{page}");
}
