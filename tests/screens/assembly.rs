//! The assembly answer: the fewest fillers that a shop keeps, what they cost at each joint, and every figure for the filler
//! that the reader is told to use.

use crate::support::program::*;
use serde_json::{Value, json};

/// What `choose` says of a job in a file of its own, as a page and as JSON.
fn chosen(job: &str) -> (String, Value) {
    let place = folder();
    let path = write(place.path(), "job.toml", job);
    let path = path.to_str().expect("a path");
    (run(["choose", path]).out, run(["choose", path, "--json"]).json())
}

const SERVICE: &str = "[service]\nsustained-temperature = \"20 °C\"\nlowest-temperature = \"0 °C\"\nexposure = \"outdoor\"\n\
                       finish = \"painted\"\nforming = \"none\"\nheat-treatment = \"none\"\n";

/// Joints of sheet and extrusions of a vehicle, each part by its name.
fn vehicle(service: &str) -> String {
    let parts = [("rail", "6061-T6", 6), ("skin", "3003-H14", 2), ("tread", "5052-H32", 3)];
    let parts: String = parts
        .iter()
        .map(|(name, alloy, thick)| {
            format!("[parts.{name}]\nalloy = \"{alloy}\"\nthickness = \"{thick} mm\"\n")
        })
        .collect();
    let joints = [("rail", "rail", "fillet"), ("skin", "rail", "fillet"), ("tread", "tread", "square butt")];
    let joints: String = joints
        .iter()
        .map(|(one, other, weld)| {
            format!(
                "[[joints]]\nname = \"{one} to {other}\"\nbetween = [\"{one}\", \"{other}\"]\nweld = \"{weld}\"\n\
                 process = \"GMAW\"\n"
            )
        })
        .collect();
    format!("{parts}{joints}{service}")
}

#[test]
fn an_open_joint_is_served_by_a_filler_that_shops_keep() {
    let service = SERVICE.replace("sustained-temperature = \"20 °C\"\n", "");
    let (_, report) = chosen(&vehicle(&service));
    let joint = &report["joints"][2];
    assert_eq!(joint["recommended"], json!([]), "the temperature is not known");
    let covers = &report["fewest_fillers"]["covers"];
    assert_eq!(covers["tread to tread"], "5554", "whatever the temperature, and kept by shops");
    for filler in report["fewest_fillers"]["fillers"].as_array().expect("fillers") {
        assert!(
            ["4043", "5356", "5554", "5183", "4047"].contains(&filler.as_str().expect("a name")),
            "{filler}"
        );
    }
}

/// Two joints of which each has a filler of its own, and one filler serves both.
fn cradle() -> (String, Value) {
    let job = std::fs::read_to_string(root().join("examples/boat-cradle.toml")).expect("the example");
    chosen(&job)
}

#[test]
fn what_one_filler_costs_is_said_at_each_joint() {
    let (page, report) = cradle();
    let prices = report["fewest_fillers"]["prices"].as_array().expect("prices");
    let covers = report["fewest_fillers"]["covers"].as_object().expect("covers");
    for joint in report["joints"].as_array().expect("joints") {
        let name = joint["joint"].as_str().expect("a name");
        let own = joint["recommended"].as_array().expect("a list").contains(&covers[name]);
        assert_eq!(prices.iter().any(|price| price["joint"] == name), !own, "{name}");
    }
    assert_eq!(prices.len(), 1);
    let page = page.split_whitespace().collect::<Vec<_>>().join(" ");
    let said = format!(
        "At {}, {} in place of {}",
        prices[0]["joint"].as_str().expect("a joint"),
        prices[0]["filler"].as_str().expect("a filler"),
        prices[0]["instead_of"].as_str().expect("a filler")
    );
    assert!(page.contains(&said), "{said:?} is not in {page}");
}

#[test]
fn the_leg_is_given_for_the_filler_that_is_advised() {
    let (_, report) = cradle();
    let covers = report["fewest_fillers"]["covers"].as_object().expect("covers");
    let mut loads = 0;
    for (joint, filler) in covers {
        let filler = filler.as_str().expect("a filler");
        let told = format!("The load at {joint} needs a leg of at least ");
        let about: Vec<&str> = report["cautions"]
            .as_array()
            .expect("cautions")
            .iter()
            .filter_map(Value::as_str)
            .filter(|caution| caution.starts_with(&told))
            .collect();
        loads += usize::from(!about.is_empty());
        let own = about.iter().any(|caution| caution.ends_with(&format!("with {filler}.")));
        assert!(about.is_empty() || own, "{about:?}");
    }
    assert_eq!(loads, 2, "two joints of the example carry a load");
}

#[test]
fn what_is_recommended_and_marginal_is_not_hidden() {
    let job = vehicle(SERVICE).replace(
        "[[joints]]\nname = \"rail to rail\"\nbetween = [\"rail\", \"rail\"]",
        "[[joints]]\nname = \"tread to rail\"\nbetween = [\"tread\", \"rail\"]",
    );
    let stocked = format!("{job}[choice]\navailable = [\"4043\"]\n");
    let (page, report) = chosen(&stocked);
    assert_eq!(report["joints"][0]["recommended"], json!(["4043"]));
    assert!(page.contains("But marginal: joint strength"), "{page}");
}

#[test]
fn no_filler_carries_a_load_that_it_cannot_be_checked_for() {
    let job = "[parts.p]\nalloy = \"6061-T6\"\nthickness = \"12 mm\"\n[[joints]]\nname = \"seam\"\nbetween = [\"p\", \"p\"]\n\
               weld = \"fillet\"\nprocess = \"GMAW\"\nleg = \"5 mm\"\nload = { shear = \"500 kN\", length = \"120 mm\" }\n\
               [design]\ncode = \"EN 1999-1-1\"\n";
    let place = folder();
    let path = write(place.path(), "job.toml", format!("{job}{SERVICE}"));
    let ended = run(["choose", path.to_str().expect("a path")]).with_status(3);
    let page = ended.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(page.contains("No filler is usable here."), "{page}");
    assert!(page.contains("No filler carries the load of 500 kN at seam as it is. With "), "{page}");
}
