//! What is said of a bad job file: every mistake, where it stands, and what was probably meant.

use crate::support::hand_made_rulebook::*;
use whyrod::job::read_job;
use whyrod::language::Rulebook;

/// The example with one text replaced by another.
fn changed(from: &str, to: &str) -> Vec<String> {
    assert!(CYCLONE.contains(from), "{from} is not in the example");
    mistakes(&CYCLONE.replacen(from, to, 1))
}

#[test]
fn all_mistakes_come_in_one_pass() {
    insta::assert_snapshot!(
        mistakes(
            r#"titel = "Bench"
[parts.shell]
alloy = "3130"
thickness = 1.5
[parts.boss]
temper = "T6"
thickness = "12 °C"
[[joints]]
name = "seam"
between = ["shel", "boss"]
weld = "filet"
leg = "3 furlong"
dilution = "40 mm"
load = { shear = "4 kN", lenght = "60 mm" }
[[joints]]
name = "seam"
between = ["boss"]
[joints.service]
exposure = "salt"
[service]
sustained-temprature = "95 °C"
sustained-temperature = nan
[choice]
available = ["4043", "ER4043", "AlMg4.5MnZr", "6082"]
order = ["corrosion", "Corrosion", "speed"]
"#
        )
        .join("\n")
    );
}

#[test]
fn syntax_errors_do_not_hide_what_follows() {
    insta::assert_snapshot!(
        mistakes(
            r#"title = "Bench
[parts.shell]
alloy = 3103 mm
thickness = "1.5 mn"
[parts.boss
alloy = "6082"
[[joints]]
name = "seam"
name = "weld"
between = ["shell", "boss"]
dilution = 40
"#
        )
        .join("\n")
    );
}

#[test]
fn syntax_errors_in_json_point() {
    let json = |text: &str| match read_job("job.json", text.as_bytes(), &rulebook()) {
        Ok(_) => panic!("{text} was read"),
        Err(errors) => shown(&errors).join("\n"),
    };
    assert_eq!(json("{\"title\": \"a\",}"), "1:14 this is not valid JSON: trailing commas are not allowed");
    assert_eq!(json("{\n // note\n}"), "2:2 this is not valid JSON: comments are not allowed");
    assert!(json("{\"title\" \"a\"}").contains("colon"), "{}", json("{\"title\" \"a\"}"));
    assert!(json("[]").starts_with("1:1 a job file is a table, and a list stands here"));
    let twice = json("{\"title\": \"a\", \"title\": \"b\", \"joints\": null}");
    assert!(twice.contains("1:16 the key `title` is given twice"), "{twice}");
    assert!(
        twice.contains(
            "1:40 `joints` is a list, and null stands here / leave the key out where there is no answer"
        ),
        "{twice}"
    );
    assert!(twice.contains("1:1 the job has no parts / add \"parts\": {"), "{twice}");
}

#[test]
fn what_is_required_is_missed() {
    assert_eq!(
        mistakes("title = \"nothing\""),
        [
            "1:1 the job has no parts / give each part a section [parts.NAME] with its alloy",
            "1:1 the job has no joints / give each joint a section [[joints]] with a name and the two parts it lies \
             between",
        ]
    );
    assert_eq!(
        changed("alloy = \"EN AW-3103\"\n", ""),
        ["3:8 part \"shell\" names no alloy / add a line such as alloy = \"…\""]
    );
    assert_eq!(
        changed("name = \"boss seat\"\n", ""),
        ["12:1 joint 1 has no name / add a line such as name = \"seam\""]
    );
    assert_eq!(
        changed("between = [\"shell\", \"boss\"]\n", ""),
        [
            "12:1 joint \"boss seat\" does not say which parts it lies between / add a line such as between = [\"first \
          part\", \"second part\"]"
        ]
    );
}

#[test]
fn sections_of_the_wrong_shape() {
    let joints = mistakes("[parts.a]\nalloy = \"3103\"\n[joints]\nname = \"x\"\n");
    assert_eq!(
        joints,
        [
            "3:1 `joints` is a list, and a table stands here / write each joint as a section [[joints]], in double \
          brackets"
        ]
    );
    let parts = mistakes("[[parts]]\nalloy = \"3103\"\n[[joints]]\nname = \"x\"\nbetween = [\"a\", \"a\"]");
    assert!(parts[0].contains("`parts` is a table, and a list stands here / write each part"), "{parts:?}");
    assert_eq!(
        changed("exposure = \"dry\"", "exposure = true"),
        ["33:12 `service.exposure` is a word, and true or false stands here"]
            .map(|text| text.replacen("33", "32", 1))
    );
}

#[test]
fn quantities_need_the_right_unit() {
    let leg = |written: &str| changed("leg = \"3 mm\"", &format!("leg = {written}")).join("; ");
    assert_eq!(
        leg("3"),
        "16:7 `joints.leg`: a length needs a unit, such as mm / write \"3 mm\", unit included"
    );
    assert_eq!(
        leg("\"3\""),
        "16:7 `joints.leg`: a length needs a unit, such as mm / write \"3 mm\", unit included"
    );
    assert!(leg("\"3 °C\"").contains("is a unit of temperature"));
    assert!(leg("\"3 mmm\"").contains("did you mean \"mm\"?"));
    assert!(leg("\"three mm\"").contains("is not a number / write a number and its unit, such as \"5 mm\""));
    assert!(leg("\"3..4 mm\"").contains("one value is expected"));
    assert!(leg("inf").contains("\"inf\" is not a number"));
    assert!(leg("nan").contains("\"nan\" is not a number"));
    assert!(leg("\"NaN mm\"").contains("is not a number"));
    assert!(leg("\"-3 mm\"").contains("is less than nothing"));
    assert!(leg("[3]").contains("`joints.leg` is a quantity, and a list stands here"));
    assert!(leg("2024-01-01").contains("a date stands here"));
    assert!(leg(&format!("\"{} mm\"", "9".repeat(9999))).len() < 400);
    let heat = |written: &str| changed("\"203 °F\"", written).join("; ");
    assert!(heat("\"-300 °C\"").contains("below absolute zero"));
    assert_eq!(heat("\"0 K\""), "");
}

#[test]
fn dilution_is_a_share() {
    let dilution = |written: &str| changed("\"40..60 %\"", written).join("; ");
    for good in ["\"40 %\"", "0.4", "\"0.4\"", "\"0.4..0.6\"", "1", "\"0..100 %\""] {
        assert_eq!(dilution(good), "", "{good}");
    }
    assert!(dilution("40").contains("lies between 0 % and 100 % / write a share such as \"40 %\""));
    assert!(dilution("\"-1..20 %\"").contains("lies between 0 % and 100 %"));
    assert!(dilution("\"60..40 %\"").contains("starts above its end / write the smaller end first"));
    assert!(dilution("\"40 %..\"").contains("both ends"));
    assert!(dilution("\"40 °C\"").contains("is a unit of temperature"));
}

#[test]
fn words_are_listed_nearest_first_or_only_the_nearest_named() {
    assert_eq!(
        changed("exposure = \"dry\"", "exposure = \"sea-watre\""),
        [
            "32:12 unknown word \"sea-watre\" for `service.exposure` / did you mean \"sea water\"? Known words are sea \
          water, dry, outdoor, fresh water, food, chemical"
        ]
    );
    assert_eq!(
        changed("weld = \"Fillet\"", "weld = \"Filet\""),
        ["15:8 unknown word \"Filet\" for `joints.weld` / did you mean \"fillet\"?"]
    );
    assert!(changed("weld = \"Fillet\"", "weld = \"zzzzzzzzzz\"")[0].ends_with("edge, plug and 1 more"));
}

#[test]
fn keys_name_the_nearest() {
    assert_eq!(
        changed("leg =", "legg ="),
        ["16:1 unknown key `legg` in joint \"boss seat\" / did you mean `leg`?"]
    );
    assert_eq!(
        changed("thickness", "thicknes"),
        ["6:1 unknown key `thicknes` in part \"shell\" / did you mean `thickness`?"]
    );
    assert_eq!(
        changed("[choice]", "[chioce]"),
        ["35:2 unknown key `chioce` in a job file / did you mean `choice`?"]
    );
    assert_eq!(
        changed("available =", "stock ="),
        ["36:1 unknown key `stock` in `choice` / known keys are available, order"]
    );
}

#[test]
fn designations_that_are_not_clear() {
    let alloy = |written: &str| changed("\"EN AW-3103\"", &format!("\"{written}\"")).join("; ");
    assert_eq!(alloy("EN AW-3130"), "4:9 unknown alloy \"EN AW-3130\" / did you mean \"3103\"?");
    assert_eq!(alloy("ER5356"), "4:9 unknown alloy \"ER5356\" / that is a filler; a base alloy is expected");
    assert!(alloy("EN AW-3103 [AlSi1MgMn]").contains("is not the chemical symbol of 3103"));
    assert!(
        alloy("EN AW-3103 [AlMn9]")
            .contains("knows no chemical symbol \"AlMn9\" / write the alloy without it")
    );
    assert_eq!(alloy(&"9".repeat(3000)).chars().count(), "4:9 unknown alloy \"\"".len() + 61);
    assert!(alloy("6082-T5").contains("the alloy is written with temper T5, and `temper` says H14"));
    let filler = |written: &str| changed("\"ER4043\"", &format!("\"{written}\"")).join("; ");
    assert_eq!(
        filler("S AlMg4,5MnZr"),
        "36:14 \"S AlMg4,5MnZr\" is the name of more than one filler / write one of 5087, 5187"
    );
    assert_eq!(filler("ER4034"), "36:14 unknown filler \"ER4034\" / did you mean \"4043\"?");
    assert_eq!(filler("6082"), "36:14 unknown filler \"6082\" / that is a base alloy; a filler is expected");
    assert!(filler("4043-T6").contains("which a filler has not"));
    assert_eq!(filler("AlMg5Cr").matches("unknown filler").count(), 1);
}

#[test]
fn a_temper_behind_the_alloy_needs_a_question_for_tempers() {
    let mut book = rulebook();
    book.relations.retain(|relation| relation.name != "temper");
    let text = CYCLONE.replace("temper = \"H14\"\n", "");
    let errors = read_job("job.toml", text.as_bytes(), &book).expect_err("no question asks for the temper");
    assert_eq!(
        shown(&errors),
        [
            "8:9 the alloy is written with the temper T6, of which this rulebook knows nothing / write the alloy alone"
        ]
    );
}

#[test]
fn names_clash_or_are_unknown() {
    let twice = read(&CYCLONE.replace("shell seam", "boss seat")).expect_err("a name twice");
    assert_eq!(
        shown(&twice),
        ["22:8 two joints are named \"boss seat\" / give every joint a name of its own"]
    );
    assert_eq!(twice.sources.position(twice.diagnostics[0].others[0].0), (13, 8));
    assert_eq!(
        changed("\"shell\", \"boss\"", "\"shell\", \"bos\""),
        ["14:21 joint \"boss seat\" names an unknown part \"bos\" / did you mean \"boss\"?"]
    );
    let three = changed("\"shell\", \"boss\"", "\"shell\", \"boss\", \"shell\"");
    assert!(three[0].starts_with("14:11 a joint lies between two parts, and joint \"boss seat\" names 3"));
    assert!(changed("\"boss seat\"", "\" \"")[0].contains("the name of the joint is blank"));
    assert!(changed("\"boss seat\"", "\"a\\nb\"")[0].contains("a line break or another control character"));
    assert_eq!(changed("\"R4047\"", "\"AlSi5\""), ["36:35 the filler 4043 is named twice"]);
    assert_eq!(
        changed("\"Hot Cracking\"", "\"sustained heat\""),
        ["37:28 the criterion \"sustained heat\" is ranked twice"]
    );
    assert!(changed("[\"ER4043\", \"Al 5356\", \"R4047\"]", "[]")[0].contains("`available` names no filler"));
}

#[test]
fn a_rulebook_without_joints_is_said_to_be_one() {
    let errors = read_job("job.toml", CYCLONE.as_bytes(), &Rulebook::default()).expect_err("nothing to fill");
    let all = shown(&errors).join("\n");
    for relation in ["joint", "part", "between"] {
        let message = format!("this rulebook does not speak of joints: it declares no relation `{relation}`");
        assert!(all.contains(&message), "{all}");
    }
    let mut book = rulebook();
    let stocked = book.relation("stocked").expect("declared");
    book.relations[stocked.index()].roles[0].name = "rod".to_owned();
    let errors =
        read_job("job.toml", CYCLONE.as_bytes(), &book).expect_err("a role that a job does not know");
    assert_eq!(
        shown(&errors),
        [
            "1:1 a job cannot fill the rulebook's relation `stocked` with the roles it has there / a job fills \
          stocked(filler)"
        ]
    );
}
