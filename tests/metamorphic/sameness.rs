//! Changes of random jobs that change nothing of what is said: the order of the two sides, units, names, joints beside, the
//! order of criteria, fillers that are not stocked.

use super::plan::{CRITERIA, Decided, PLAIN, Plan, Writing, for_random_jobs};
use proptest::prelude::*;
use whyrod::verdict::Verdict;

/// Whatever is said differently, in words.
fn differences(before: &Decided, after: &Decided) -> String {
    let mut told = String::new();
    for (key, said) in before {
        match after.get(key) {
            Some(other) if other == said => {}
            Some(other) => told += &format!("{key:?}:\n  {said:?}\n  {other:?}\n"),
            None => told += &format!("{key:?} is missing\n"),
        }
    }
    for key in after.keys().filter(|key| !before.contains_key(*key)) {
        told += &format!("{key:?} is new\n");
    }
    told
}

#[track_caller]
fn same(plan: &Plan, before: &Decided, after: &Decided) -> Result<(), TestCaseError> {
    let told = differences(before, after);
    prop_assert!(told.is_empty(), "{told}{}", plan.written(PLAIN));
    Ok(())
}

#[test]
fn the_two_sides_are_alike() {
    for_random_jobs(|plan| {
        same(&plan, &plan.decided(PLAIN), &plan.decided(Writing { swapped: true, ..PLAIN }))
    });
}

#[test]
fn units_are_alike() {
    for_random_jobs(|plan| {
        same(&plan, &plan.decided(PLAIN), &plan.decided(Writing { imperial: true, ..PLAIN }))
    });
}

#[test]
fn names_are_only_names() {
    for_random_jobs(|plan| {
        same(&plan, &plan.decided(PLAIN), &plan.decided(Writing { names: "Zürich 4043 ", ..PLAIN }))
    });
}

#[test]
fn joints_do_not_touch_each_other() {
    for_random_jobs(|plan| {
        let together = plan.decided(PLAIN);
        for (at, joint) in plan.joints.iter().enumerate() {
            let alone = Plan { joints: vec![joint.clone()], ..plan.clone() }.decided(PLAIN);
            let mut of_joint = together.clone();
            of_joint.retain(|(number, _), _| *number == at);
            let of_joint = of_joint.into_iter().map(|((_, filler), said)| ((0, filler), said)).collect();
            same(&plan, &of_joint, &alone)?;
        }
        Ok(())
    });
}

/// The order decides which of the usable fillers is recommended, and nothing else: standings stay, and so do bars.
#[test]
fn the_order_of_criteria_moves_only_ranks() {
    for_random_jobs(|plan| {
        let without_ranks = |plan: &Plan| {
            let mut decided = plan.decided(PLAIN);
            for said in decided.values_mut().filter(|said| said.verdict == Verdict::Recommended) {
                said.verdict = Verdict::Usable;
            }
            decided
        };
        let before = without_ranks(&plan);
        let mut order = CRITERIA.to_vec();
        for turn in 0..3 {
            order.rotate_left(4);
            order.swap(0, turn + 1);
            same(&plan, &before, &without_ranks(&Plan { order: order.clone(), ..plan.clone() }))?;
        }
        Ok(())
    });
}

/// A filler is judged by itself: what else is in stock moves ranks alone.
#[test]
fn a_narrower_stock_judges_the_rest_as_before() {
    for_random_jobs(|plan| {
        let Some(stock) = &plan.stock else { return Ok(()) };
        let before = plan.decided(PLAIN);
        for left_out in stock {
            let fewer: Vec<&str> = stock.iter().copied().filter(|filler| filler != left_out).collect();
            if fewer.is_empty() {
                continue;
            }
            let after = Plan { stock: Some(fewer), ..plan.clone() }.decided(PLAIN);
            for (key, said) in &after {
                let Some(was) = before.get(key) else { return Err(TestCaseError::fail("a new filler")) };
                prop_assert_eq!(&was.standings, &said.standings, "{:?}\n{}", key, plan.written(PLAIN));
                let barred = [was.verdict, said.verdict].map(|verdict| verdict == Verdict::Barred);
                prop_assert_eq!(barred[0], barred[1], "{:?}\n{}", key, plan.written(PLAIN));
            }
            prop_assert!(!after.keys().any(|(_, filler)| filler == left_out));
        }
        Ok(())
    });
}

/// A job that names a stock has those fillers followed that it would else pass over, which may show them to be worse than
/// thought, never better.
#[test]
fn naming_a_stock_frees_no_filler() {
    for_random_jobs(|plan| {
        let Some(_) = &plan.stock else { return Ok(()) };
        let whole = Plan { stock: None, ..plan.clone() }.decided(PLAIN);
        for (key, said) in plan.decided(PLAIN) {
            let freed = whole[&key].verdict == Verdict::Barred && said.verdict != Verdict::Barred;
            prop_assert!(!freed, "{key:?}: {:?}\n{said:?}\n{}", whole[&key], plan.written(PLAIN));
        }
        Ok(())
    });
}
