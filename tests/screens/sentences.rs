//! A sentence with a place that holds nothing yet is never filled by guessing: an open place of a pattern reads as any, and
//! what hangs on an answer says that it was not given.

use crate::support::program::*;

/// A page without its breaks and rails.
fn words(page: &str) -> String {
    let words = page.split_whitespace().filter(|word| !word.contains(['│', '├', '╰']));
    words.collect::<Vec<_>>().join(" ")
}

#[test]
fn a_pattern_with_open_places_reads_as_english() {
    let job = "examples/hot-grain-dryer.toml";
    for (job, filler) in [(job, "5356"), (job, "4043"), ("examples/library-balustrade.toml", "4043")] {
        for command in ["why", "why-not"] {
            // What is looked for stands in the derivation; one joint's is enough.
            let joint = if job.contains("dryer") { "duct to flange" } else { "post to foot" };
            let page = words(&run([command, job, filler, "--full", "--joint", joint]).out);
            for wrong in ["the any", "any magnesium magnesium", "an unknown"] {
                assert!(!page.contains(wrong), "{command} {job} {filler}: {wrong}\n{page}");
            }
        }
    }
}

#[test]
fn what_hangs_on_an_answer_says_so() {
    let folder = folder();
    let line = "sustained-temperature = \"95 °C\"\n";
    let job = example("hot-grain-dryer.toml").replace(line, "");
    let path = write(folder.path(), "job.toml", job);
    let path = path.to_str().expect("a path");
    for arguments in [&["choose", path][..], &["why", path, "5356"], &["why", path, "5356", "--full"]] {
        let page = words(&run(arguments).out);
        assert!(!page.contains("unknown"), "{arguments:?}\n{page}");
    }
    let page = words(&run(["why", path, "5356", "--full"]).out);
    assert!(page.contains("held at (not answered), over 65 °C"), "{page}");
    assert!(page.contains("not settled whether T > 65 °C"), "{page}");
}

#[test]
fn a_joint_named_after_its_parts_reads_well() {
    let page = words(
        &run(["why", "examples/hot-grain-dryer.toml", "4043", "--full", "--joint", "duct to flange"]).out,
    );
    assert!(!page.contains("duct to flange joins"), "{page}");
    assert!(page.contains("duct to flange lies between duct and flange"), "{page}");
}
