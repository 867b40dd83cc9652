//! Small rulebooks with answers worked out by hand. Random ones are tested from outside, against a naive evaluation.

use super::small_rulebook::SmallRulebook;
use super::*;
use crate::language::Origin;

/// The facts of a relation as sorted lines, open ones marked with `?`.
fn lines(derivation: &Derivation<'_>, small: &SmallRulebook, relation: &str) -> Vec<String> {
    let mut lines: Vec<String> = derivation
        .facts(small.id(relation))
        .map(|fact| {
            let cells: Vec<String> = derivation
                .cells(fact)
                .iter()
                .map(|cell| cell.value().map_or("…".to_owned(), ToString::to_string))
                .collect();
            let mark = if derivation.status(fact) == Status::Open { "? " } else { "" };
            format!("{mark}{}", cells.join(" "))
        })
        .collect();
    lines.sort();
    lines
}

fn run<'s>(small: &'s SmallRulebook, given: &[&str]) -> Derivation<'s> {
    let given: Vec<GivenFact> = given.iter().map(|line| small.given(line)).collect();
    derive(&small.rulebook, &given, &[], Recording::Everything).expect("the rulebook is sound")
}

fn one(derivation: &Derivation<'_>, small: &SmallRulebook, pattern: &str) -> FactId {
    let found = derivation.matching(&small.pattern(pattern));
    assert_eq!(found.len(), 1, "{pattern} matches {found:?}");
    found[0]
}

fn instance_of(derivation: &Derivation<'_>, fact: FactId) -> Instance {
    match derivation.grounds(fact).into_iter().next() {
        Some(Ground::Finding(instance)) => instance,
        other => panic!("not found by a finding: {other:?}"),
    }
}

fn open_questions(derivation: &Derivation<'_>, small: &SmallRulebook, relation: &str) -> Vec<String> {
    let fact = derivation.facts(small.id(relation)).next().expect("a fact");
    let name = |fact: &FactId| small.rulebook.relations[fact.relation.index()].name.clone();
    derivation.open_questions(fact).iter().map(name).collect()
}

#[test]
fn a_closure_is_complete_and_every_way_is_recorded() {
    let mut small = SmallRulebook::new(&["edge name name", "path name name"]);
    small.finding("path.edge", &["given edge X Y", "hence path X Y"]);
    small.finding("path.longer", &["given path X Y", "given edge Y Z", "hence path X Z"]);
    let derivation = run(&small, &["edge a b", "edge b c", "edge c a", "edge a c"]);
    assert_eq!(derivation.facts(small.id("path")).len(), 9);
    let both_ways = one(&derivation, &small, "path a c");
    let ways: Vec<String> = derivation
        .grounds(both_ways)
        .into_iter()
        .map(|ground| match ground {
            Ground::Finding(instance) => small.rulebook.findings[instance.finding.index()].id.clone(),
            other => format!("{other:?}"),
        })
        .collect();
    // By its own edge, from b, and round the circle from a itself.
    assert_eq!(ways, ["path.edge", "path.longer", "path.longer"]);
    // Four edges, and each of the nine paths followed by each edge from its end: 4 + 3·(2 + 1 + 1).
    assert_eq!(derivation.counts().records, 4 + 4 + 12);
}

#[test]
fn a_closure_joined_with_itself_finds_each_instance_once() {
    let mut small = SmallRulebook::new(&["edge name name", "path name name"]);
    small.finding("path.edge", &["given edge X Y", "hence path X Y"]);
    small.finding("path.joined", &["given path X Y", "given path Y Z", "hence path X Z"]);
    let derivation = run(&small, &["edge a b", "edge b c", "edge c d", "edge d a"]);
    // All sixteen pairs are paths; each of the 4·4·4 joins is recorded once, beside four edges twice.
    assert_eq!(derivation.facts(small.id("path")).len(), 16);
    assert_eq!(derivation.counts().records, 4 + 4 + 64);
}

#[test]
fn what_is_denied_waits_for_the_layer_below() {
    let mut small = SmallRulebook::new(&["node name", "edge name name", "reached name", "alone name"]);
    small.finding("alone", &["given node X", "unless reached X", "hence alone X"]);
    small.finding("reached.start", &["given edge start X", "hence reached X"]);
    small.finding("reached.next", &["given reached X", "given edge X Y", "hence reached Y"]);
    let derivation = run(&small, &["node a", "node b", "node c", "edge start a", "edge a b"]);
    assert_eq!(lines(&derivation, &small, "alone"), ["c"]);
    let instance = instance_of(&derivation, one(&derivation, &small, "alone c"));
    let met = derivation.premises(&instance);
    assert!(matches!(&met[1], Met::Unless { sought, open, .. } if open.is_empty() && sought.len() == 1));
}

fn heat() -> SmallRulebook {
    let mut small = SmallRulebook::new(&[
        "joint name",
        "? heat name temperature : joint 0",
        "hot name",
        "calm name",
        "steady name",
    ]);
    small.finding("hot", &["given heat J T", "where T > 65°C", "hence hot J"]);
    small.finding("calm", &["given joint J", "unless hot J", "hence calm J"]);
    small.finding("steady", &["given joint J", "given heat J T", "where T >= 20°C", "hence steady J"]);
    small
}

#[test]
fn an_unanswered_question_leaves_open_what_it_decides() {
    let small = heat();
    let derivation = run(&small, &["joint keel", "joint deck", "heat deck 150°F"]);
    assert_eq!(lines(&derivation, &small, "heat"), ["? keel …", "deck 150 °F"]);
    assert_eq!(lines(&derivation, &small, "hot"), ["? keel", "deck"]);
    assert_eq!(lines(&derivation, &small, "calm"), ["? keel"]);
    assert_eq!(lines(&derivation, &small, "steady"), ["? keel", "deck"]);
    assert_eq!(open_questions(&derivation, &small, "calm"), ["heat"]);
    let calm = instance_of(&derivation, one(&derivation, &small, "calm keel"));
    let hot = one(&derivation, &small, "hot keel");
    assert!(matches!(&derivation.premises(&calm)[1], Met::Unless { open, .. } if *open == [hot]));
    let instance = instance_of(&derivation, hot);
    assert_eq!(derivation.premises(&instance)[1], Met::Where(Status::Open));
    assert_eq!(derivation.grounds(one(&derivation, &small, "heat keel _")), [Ground::Unanswered]);
}

#[test]
fn an_answer_that_may_be_left_out_leaves_nothing_open() {
    let mut small = SmallRulebook::new(&[
        "joint name",
        "?? gap name ratio : joint 0",
        "tight name",
        "wide name",
        "? pull name ratio : joint 0",
        "loose name",
    ]);
    small.finding("tight", &["given joint J", "unless gap J _", "hence tight J"]);
    small.finding("wide", &["given gap J G", "where G > 2", "hence wide J"]);
    small.finding("loose", &["given joint J", "unless pull J _", "hence loose J"]);
    let derivation = run(&small, &["joint keel", "joint deck", "gap deck 3"]);
    assert_eq!(lines(&derivation, &small, "gap"), ["deck 3"]);
    assert_eq!(lines(&derivation, &small, "tight"), ["keel"]);
    assert_eq!(lines(&derivation, &small, "wide"), ["deck"]);
    // The same question without the clause leaves its denial open.
    assert_eq!(lines(&derivation, &small, "loose"), ["? deck", "? keel"]);
    let tight = instance_of(&derivation, one(&derivation, &small, "tight keel"));
    assert!(matches!(&derivation.premises(&tight)[1], Met::Unless { open, .. } if open.is_empty()));
}

#[test]
fn units_do_not_matter_and_the_users_unit_is_shown() {
    let mut small = heat();
    small.fact("heat keel 65°C");
    // 149 °F is 65 °C: not above it. 203 °F is 95 °C, the same fact as the table's second row.
    small.fact("heat deck 95°C");
    let derivation = run(&small, &["joint keel", "joint deck", "heat keel 149°F", "heat deck 203°F"]);
    assert_eq!(lines(&derivation, &small, "hot"), ["deck"]);
    assert_eq!(lines(&derivation, &small, "calm"), ["keel"]);
    assert_eq!(lines(&derivation, &small, "heat"), ["deck 203 °F", "keel 149 °F"]);
    let deck = one(&derivation, &small, "heat deck 95°C");
    assert_eq!(derivation.grounds(deck), [Ground::Given(3), Ground::Table(1)]);
}

#[test]
fn an_unknown_word_matches_perhaps_and_is_refined() {
    let mut small = SmallRulebook::new(&[
        "joint name",
        "? water name name : joint 0",
        "harsh name",
        "paint name name",
        "painted name name",
        "mild name",
    ]);
    small.finding(
        "painted",
        &["given water J W", "given paint W P", "where W not fresh", "hence painted J W"],
    );
    small.finding("mild", &["given water J W", "unless harsh W", "hence mild J"]);
    let facts = ["joint keel", "paint salt red", "paint fresh blue", "harsh salt"];
    let derivation = run(&small, &facts);
    // Fresh water is ruled out once the unknown word has met it; what is left names the word it would have to be.
    assert_eq!(lines(&derivation, &small, "painted"), ["? keel salt"]);
    assert_eq!(lines(&derivation, &small, "mild"), ["? keel"]);
    assert_eq!(open_questions(&derivation, &small, "painted"), ["water"]);
    let painted = instance_of(&derivation, one(&derivation, &small, "painted keel salt"));
    let word = derivation.bindings(&painted)[1].clone();
    assert_eq!(word.and_then(|cell| cell.value().map(ToString::to_string)).as_deref(), Some("salt"));
    let answered = run(&small, &["joint keel", "paint salt red", "harsh salt", "water keel salt"]);
    assert_eq!(lines(&answered, &small, "painted"), ["keel salt"]);
    assert_eq!(lines(&answered, &small, "mild"), [""; 0]);
}

fn loads() -> SmallRulebook {
    let mut small = SmallRulebook::new(&[
        "part name",
        "rod name",
        "? load name ratio : part 0",
        "use name ratio",
        "best ratio",
        "total ratio",
        "rods ratio",
        "light name",
    ]);
    small.finding("use", &["given load P L", "let U = L / 4", "hence use P U"]);
    small.finding("best", &["let B = least U of use _ U", "hence best B"]);
    small.finding("total", &["let S = sum U of use _ U", "hence total S"]);
    small.finding("rods", &["let N = count of rod R", "hence rods N"]);
    small.finding("light", &["given use P U", "given best B", "where U <= B", "hence light P"]);
    small
}

#[test]
fn aggregates_run_over_members_and_over_nothing() {
    let small = loads();
    let derivation = run(&small, &["load a 8", "load b 12", "rod r", "rod s"]);
    assert_eq!(lines(&derivation, &small, "best"), ["2"]);
    assert_eq!(lines(&derivation, &small, "total"), ["5"]);
    assert_eq!(lines(&derivation, &small, "rods"), ["2"]);
    assert_eq!(lines(&derivation, &small, "light"), ["a"]);
    let best = instance_of(&derivation, one(&derivation, &small, "best 2"));
    let Met::Aggregate { members, value, .. } = &derivation.premises(&best)[0] else {
        panic!("an aggregate")
    };
    assert_eq!(members.len(), 2);
    assert_eq!(value.value().map(ToString::to_string).as_deref(), Some("2"));
    let nothing = run(&small, &[]);
    assert_eq!(lines(&nothing, &small, "total"), ["0"]);
    assert_eq!(lines(&nothing, &small, "rods"), ["0"]);
    assert_eq!(lines(&nothing, &small, "best"), [""; 0]);
}

#[test]
fn an_open_member_leaves_an_aggregate_unknown() {
    let small = loads();
    let derivation = run(&small, &["load a 8", "part b"]);
    assert_eq!(lines(&derivation, &small, "use"), ["? b …", "a 2"]);
    assert_eq!(lines(&derivation, &small, "best"), ["? …"]);
    assert_eq!(lines(&derivation, &small, "light"), ["? a", "? b"]);
    assert_eq!(open_questions(&derivation, &small, "light"), ["load"]);
}

#[test]
fn an_open_member_that_cannot_win_does_not_disturb() {
    let mut small = SmallRulebook::new(&[
        "part name",
        "? painted name name : part 0",
        "wear name ratio",
        "least-wear ratio",
        "most-wear ratio",
    ]);
    small.fact("wear bolt 3");
    small.finding("worn", &["given painted P yes", "hence wear P 5"]);
    small.finding("least", &["let B = least U of wear _ U", "hence least-wear B"]);
    small.finding("most", &["let B = greatest U of wear _ U", "hence most-wear B"]);
    let derivation = run(&small, &["part keel"]);
    assert_eq!(lines(&derivation, &small, "wear"), ["? keel 5", "bolt 3"]);
    assert_eq!(lines(&derivation, &small, "least-wear"), ["3"]);
    assert_eq!(lines(&derivation, &small, "most-wear"), ["? …"]);
}

#[test]
fn a_let_without_a_value_drops_the_finding() {
    let mut small = SmallRulebook::new(&["size name ratio", "share name ratio"]);
    small.finding("share", &["given size X N", "let S = 1 / N", "hence share X S"]);
    let derivation = run(&small, &["size a 0", "size b 4"]);
    assert_eq!(lines(&derivation, &small, "share"), ["b 0.25"]);
}

fn doubling() -> (SmallRulebook, Computation) {
    let mut small = SmallRulebook::new(&[
        "part name",
        "? load name ratio : part 0",
        "= doubled name ratio : load",
        "big name",
    ]);
    small.finding("big", &["given doubled P N", "where N > 10", "hence big P"]);
    let computation = Computation {
        relation: "doubled",
        run: |inputs, outputs| {
            for row in 0..inputs.rows(0) {
                let part = OutputCell::Term(inputs.term(0, row, 0));
                let load = match inputs.value(inputs.term(0, row, 1)) {
                    Some(crate::language::Value::Number(load)) => {
                        OutputCell::Quantity(crate::quantity::Quantity { base: load.base * 2.0, ..*load })
                    }
                    _ => OutputCell::Unknown,
                };
                outputs.push(&[part, load], &[(0, row)]);
            }
        },
        working: |premises, cells, _| Working {
            method: "doubling".into(),
            cites: vec![],
            steps: vec![format!("{} inputs, {} cells", premises.len(), cells.len())],
        },
    };
    (small, computation)
}

#[test]
fn a_computed_relation_is_known_or_open_as_its_inputs_are() {
    let (small, computation) = doubling();
    let given = ["part a", "part b", "load b 6"].map(|line| small.given(line));
    let derivation =
        derive(&small.rulebook, &given, &[computation], Recording::Everything).expect("it is computed");
    assert_eq!(lines(&derivation, &small, "doubled"), ["? a …", "b 12"]);
    assert_eq!(lines(&derivation, &small, "big"), ["? a", "b"]);
    assert_eq!(open_questions(&derivation, &small, "big").len(), 0);
    let doubled = one(&derivation, &small, "doubled b 12");
    let load = one(&derivation, &small, "load b 6");
    assert_eq!(derivation.grounds(doubled), [Ground::Computed { premises: vec![load] }]);
    assert_eq!(
        derivation.working(doubled).map(|working| working.steps),
        Some(vec!["1 inputs, 2 cells".into()])
    );
    let open = one(&derivation, &small, "big a");
    assert_eq!(derivation.open_questions(open), [one(&derivation, &small, "load a _")]);
}

#[test]
fn a_computed_relation_without_a_computation_is_an_error() {
    let (small, _) = doubling();
    let error =
        derive(&small.rulebook, &[], &[], Recording::First).map(|_| ()).expect_err("nothing computes it");
    assert_eq!(error, EngineError::NotComputed { relation: "doubled".into() });
    let computation = doubling().1;
    let given = [small.given("doubled a 3")];
    let error = derive(&small.rulebook, &given, &[computation], Recording::First)
        .map(|_| ())
        .expect_err("a given fact");
    assert_eq!(error, EngineError::ComputedElsewhere { relation: "doubled".into() });
}

#[test]
fn a_denial_in_a_circle_is_an_error() {
    let mut small = SmallRulebook::new(&["seat name", "left name", "right name"]);
    small.finding("left", &["given seat X", "unless right X", "hence left X"]);
    small.finding("right", &["given left X", "hence right X"]);
    let error = Program::new(&small.rulebook, &[]).map(|_| ()).expect_err("not layered");
    assert_eq!(error, EngineError::Unlayered { relations: vec!["left".into(), "right".into()] });
}

#[test]
fn a_value_that_feeds_itself_is_an_error_and_one_from_below_is_not() {
    let mut small = SmallRulebook::new(&["age ratio", "step ratio"]);
    small.finding("older", &["given age N", "let M = N + 1", "hence age M"]);
    let error = Program::new(&small.rulebook, &[]).map(|_| ()).expect_err("it grows");
    assert_eq!(error, EngineError::Growing { finding: "older".into(), relation: "age".into() });
    let mut small = SmallRulebook::new(&["size name ratio", "path name name ratio"]);
    small.finding("path", &["given path X Y _", "given size Y N", "let M = N * 2", "hence path Y X M"]);
    let derivation = run(&small, &["path a b 1", "size a 1", "size b 2"]);
    assert_eq!(lines(&derivation, &small, "path"), ["a b 1", "a b 2", "b a 4"]);
}

#[test]
fn a_malformed_rulebook_is_an_error() {
    let mut small = SmallRulebook::new(&["edge name name", "path name name"]);
    small.finding("unbound", &["given edge X X", "hence path X Y"]);
    let error = Program::new(&small.rulebook, &[]).map(|_| ()).expect_err("Y is not bound");
    assert!(matches!(error, EngineError::MalformedFinding { .. }));
    let mut small = SmallRulebook::new(&["edge name name"]);
    small.fact("edge a");
    let error = Program::new(&small.rulebook, &[]).map(|_| ()).expect_err("a cell is missing");
    assert_eq!(error, EngineError::MisshapenFact { list: "rulebook", index: 0 });
    let mut small = SmallRulebook::new(&["part name", "? load name ratio : part 0"]);
    if let Origin::Question(question) = &mut small.rulebook.relations[1].origin {
        question.filled_by = vec![7];
    }
    let error = Program::new(&small.rulebook, &[]).map(|_| ()).expect_err("no such role");
    assert_eq!(error, EngineError::MalformedRelation { relation: "load".into() });
}

#[test]
fn openness_in_a_circle_comes_to_an_end() {
    let mut small =
        SmallRulebook::new(&["part name", "? load name ratio : part 0", "near name name", "warm name"]);
    small.finding("warm.load", &["given load P L", "where L > 3", "hence warm P"]);
    small.finding("warm.near", &["given warm P", "given near P Q", "hence warm Q"]);
    let derivation = run(&small, &["part a", "near a b", "near b a", "near c b", "load c 1"]);
    assert_eq!(lines(&derivation, &small, "warm"), ["? a", "? b"]);
    let load = one(&derivation, &small, "load a _");
    assert_eq!(derivation.open_questions(one(&derivation, &small, "warm b")), [load]);
    let answered = run(&small, &["part a", "near a b", "near b a", "near c b", "load c 9"]);
    assert_eq!(lines(&answered, &small, "warm"), ["a", "b", "c"]);
}

#[test]
fn first_and_nothing_give_the_same_facts_with_fewer_records() {
    let mut small = SmallRulebook::new(&["edge name name", "path name name"]);
    small.finding("path.edge", &["given edge X Y", "hence path X Y"]);
    small.finding("path.longer", &["given path X Y", "given edge Y Z", "hence path X Z"]);
    let given = ["edge a b", "edge b c", "edge c a", "edge a c"].map(|line| small.given(line));
    let run = |recording| derive(&small.rulebook, &given, &[], recording).expect("the rulebook is sound");
    let first = run(Recording::First);
    assert_eq!(first.counts().records, 4 + 9);
    let nothing = run(Recording::Nothing);
    assert_eq!(nothing.counts().records, 0);
    assert_eq!(nothing.grounds(one(&nothing, &small, "path a c")), []);
    assert_eq!(lines(&nothing, &small, "path"), lines(&first, &small, "path"));
}
