//! Why something is not so: the findings that could have given it, nearest first, with what each lacks.

use crate::support::program::*;

const DRYER: &str = "examples/hot-grain-dryer.toml";

fn asked(command: &str, job: &str, fact: &str) -> Ended {
    run([command, job, "--fact", fact])
}

#[test]
fn a_number_stands_beside_its_threshold() {
    let page =
        asked("why-not", DRYER, "graded(\"duct to flange\", 5356, sustained-heat, ample)").with_status(0).out;
    let words = page.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("pool (Mg, whole), highest is"), "{page}");
    assert!(words.contains("needs 3 % or less"), "{page}");
    assert!(words.contains("sustained temperature is 95 °C, needs 65 °C or less"), "{page}");
}

#[test]
fn a_fact_that_is_missing_is_followed_to_what_stands_in_its_way() {
    let page = asked("why-not", DRYER, "recommended(\"duct to flange\", 5356)").with_status(0).out;
    let words = page.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        words.contains("Nearest is verdict.usable: in the way: 5356 is barred at duct to flange"),
        "{page}"
    );
    assert!(page.lines().count() < 60, "{page}");
}

#[test]
fn a_filler_that_is_not_looked_at_has_a_reason() {
    let folder = folder();
    let job = example("kite-reel.toml") + "\n[choice]\navailable = [\"4043\", \"5356\"]\n";
    let path = write(folder.path(), "job.toml", job);
    let path = path.to_str().expect("a path");
    let joint = "spool to cheek";
    let candidate = format!("candidate(\"{joint}\", 4047)");
    let page = run(["why-not", path, "--fact", &candidate]).with_status(0).out;
    let words = page.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("4047 is in stock"), "{page}");
    assert!(words.contains("4043 is in stock"), "what is in stock is told: {page}");
    let answer = run(["why-not", path, "--fact", &candidate, "--json"]).with_status(0).json();
    assert_eq!(answer["status"], "absent");
    let listed = run(["why", path, "4047", "--joint", joint]).with_status(0).out;
    assert!(listed.starts_with("4047 is not among the fillers that the job lists. If it were:"), "{listed}");
    refused(&run(["why-not", path, "9999"]), "not among the fillers");
}

#[test]
fn the_status_says_whether_it_is_so() {
    let usable = "usable(\"duct to flange\", 4043)";
    asked("why", DRYER, usable).with_status(0);
    asked("why-not", DRYER, usable).with_status(3);
    let barred = "barred(\"duct to flange\", 4043, _)";
    asked("why", DRYER, barred).with_status(3);
    asked("why-not", DRYER, barred).with_status(0);
    let open = "usable(\"frame corner\", 4043)";
    for command in ["why", "why-not"] {
        let answer = run([command, "examples/half-answered-cart.toml", "--fact", open, "--json"]);
        assert_eq!(answer.with_status(0).json()["status"], "open");
    }
}

#[test]
fn a_fact_in_wrong_words_is_pointed_at() {
    for (fact, part) in [
        ("grded(_, 5356)", "did you mean \"graded\"?"),
        ("graded(_, 5356, sustaned-heat)", "did you mean \"sustained heat\"?"),
        ("graded(_, 5356", "expected"),
        ("graded(_, 5356) and more", "expected"),
        ("", "expected"),
        ("pool(_, 4043, Mg, lowest: 3 kg)", "3 kg"),
    ] {
        refused(&asked("why-not", DRYER, fact), part);
    }
    let nested = "(".repeat(5000);
    refused(&asked("why-not", DRYER, &format!("graded{nested}")), "too many brackets");
}

/// Every node below an absent fact is told with a reason, and nothing is followed in a circle.
#[test]
fn every_absent_verdict_of_an_example_is_explained() {
    for job in ["oyster-barge", "half-answered-cart", "sap-evaporator"] {
        let job = format!("examples/{job}.toml");
        let report = run(["choose", &job, "--json"]).json();
        for joint in list(&report["joints"]) {
            let verdicts = list(&joint["verdicts"]);
            for verdict in verdicts.iter().filter(|verdict| verdict["verdict"] == "barred").step_by(7) {
                let fact = format!("recommended({}, {})", joint["joint"], verdict["filler"]);
                let answer = run(["why-not", &job, "--fact", &fact, "--json"]).with_status(0).json();
                assert_eq!(answer["status"], "absent");
                let nodes = list(&answer["derivation"]["nodes"]);
                let edges = list(&answer["derivation"]["edges"]);
                let below = |at: usize, role: &str| {
                    edges.iter().filter(|edge| edge[0] == at && edge[2] == role).count()
                };
                assert!(below(0, "attempt") > 0, "{fact}");
                let attempts: Vec<usize> = edges
                    .iter()
                    .filter(|edge| edge[2] == "attempt")
                    .filter_map(|edge| edge[1].as_u64().map(|at| at as usize))
                    .filter(|at| nodes[*at]["kind"] == "finding")
                    .collect();
                assert!(attempts.iter().all(|at| below(*at, "fails") > 0), "{fact}");
            }
        }
    }
}
