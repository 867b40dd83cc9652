//! A service made harder frees no filler: what is barred under the milder stays barred under the harder.
//!
//! The orders are common practice. None is held between food, chemical and water, nor between heat treatments, thicknesses or
//! processes: what one of them does to a weld another does not do. Nor is one held for a leg where the pool changes with it.

use super::plan::{JointPlan, PLAIN, Plan, Service, for_random_jobs};
use proptest::prelude::*;
use whyrod::verdict::Verdict;

/// Holds that each job of a chain, from the mildest to the hardest, bars what the one before it bars.
fn harder_frees_none(chain: impl Fn(&Plan) -> Vec<Plan>) {
    let looked_at = std::cell::Cell::new(0);
    for_random_jobs(|plan| {
        let mut chain = chain(&plan).into_iter().map(|plan| (plan.decided(PLAIN), plan));
        let Some((mut mild, mut milder)) = chain.next() else { return Ok(()) };
        for (hard, harder) in chain {
            for (key, said) in mild.iter().filter(|(_, said)| said.verdict == Verdict::Barred) {
                looked_at.set(looked_at.get() + 1);
                let after = &hard[key];
                prop_assert!(
                    after.verdict == Verdict::Barred,
                    "{key:?} is freed\n  {said:?}\n  {after:?}\n{}\n--- harder ---\n{}",
                    milder.written(PLAIN),
                    harder.written(PLAIN)
                );
            }
            (mild, milder) = (hard, harder);
        }
        Ok(())
    });
    assert!(looked_at.get() > 10, "only {} barred fillers were looked at", looked_at.get());
}

/// The plan once for each step, with the service of every joint set to it.
fn with_services<T>(
    plan: &Plan,
    steps: impl IntoIterator<Item = T>,
    set: impl Fn(&mut Service, &T),
) -> Vec<Plan> {
    let stepped = |step: T| {
        let mut plan = plan.clone();
        plan.joints.iter_mut().for_each(|joint| set(&mut joint.service, &step));
        plan
    };
    steps.into_iter().map(stepped).collect()
}

/// The plan once for each step, with some of its joints changed; nothing where the change concerns none of them.
fn with_joints<T>(
    plan: &Plan,
    concerns: impl Fn(&JointPlan) -> bool,
    steps: impl IntoIterator<Item = T>,
    change: impl Fn(&mut JointPlan, &T),
) -> Vec<Plan> {
    if !plan.joints.iter().any(&concerns) {
        return Vec::new();
    }
    let stepped = |step: T| {
        let mut plan = plan.clone();
        plan.joints.iter_mut().filter(|joint| concerns(joint)).for_each(|joint| change(joint, &step));
        plan
    };
    steps.into_iter().map(stepped).collect()
}

#[test]
fn hotter() {
    harder_frees_none(|plan| {
        with_services(plan, [20, 65, 66, 95, 121, 180], |service, celsius| service.sustained = Some(*celsius))
    });
}

#[test]
fn colder() {
    harder_frees_none(|plan| {
        with_services(plan, [20, 0, -49, -51, -196], |service, celsius| service.lowest = Some(*celsius))
    });
}

#[test]
fn wetter() {
    harder_frees_none(|plan| {
        let steps = ["dry", "outdoor", "fresh water", "sea water"];
        with_services(plan, steps, |service, word| service.exposure = Some(word))
    });
}

#[test]
fn formed_more() {
    harder_frees_none(|plan| {
        with_services(plan, ["none", "light", "severe"], |service, word| service.forming = Some(word))
    });
}

#[test]
fn a_finish_that_shows_more() {
    for bare in ["none", "painted"] {
        harder_frees_none(|plan| {
            let steps = [bare, "clear anodised", "colour anodised"];
            with_services(plan, steps, |service, word| service.finish = Some(word))
        });
    }
}

#[test]
fn loaded_more() {
    harder_frees_none(|plan| {
        with_joints(
            plan,
            |joint| joint.load.is_some(),
            [1, 2, 6, 30],
            |joint, times| {
                joint.load.iter_mut().for_each(|load| load.shear *= times);
            },
        )
    });
}

#[test]
fn the_same_load_on_less_weld() {
    harder_frees_none(|plan| {
        with_joints(
            plan,
            |joint| joint.load.is_some(),
            [1, 2, 6, 30],
            |joint, part| {
                joint.load.iter_mut().for_each(|load| load.length = (load.length / part).max(1));
            },
        )
    });
}

/// With a dilution that the job gives, a leg changes nothing but what the throat carries.
#[test]
fn a_smaller_leg() {
    harder_frees_none(|plan| {
        with_joints(
            plan,
            |joint| joint.load.is_some(),
            [12, 8, 5, 3, 2, 1],
            |joint, leg| {
                joint.weld = "fillet";
                joint.dilution.get_or_insert([30, 40]);
                joint.leg = *leg;
            },
        )
    });
}

/// A range of dilution about the same middle, only wider.
#[test]
fn a_dilution_less_sure() {
    harder_frees_none(|plan| {
        with_joints(
            plan,
            |joint| joint.dilution.is_some(),
            [0, 5, 15, 30, 50],
            |joint, more| {
                let middle = joint.dilution.map_or(50, |[lowest, highest]| lowest.midpoint(highest));
                let room = (*more).min(middle).min(100 - middle);
                joint.dilution = Some([middle - room, middle + room]);
            },
        )
    });
}
