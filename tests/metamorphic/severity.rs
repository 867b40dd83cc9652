//! A service made harder frees no filler: what is barred under the milder stays barred under the harder.
//!
//! The orders are common practice. None is held between food, chemical and water, nor between heat treatments, thicknesses or
//! processes: what one of them does to a weld another does not do. Nor is one held for a leg where the pool changes with it.

use super::plan::{JointPlan, Load, PLAIN, Plan, Service, for_random_jobs};
use proptest::prelude::*;
use whyrod::verdict::Verdict;

/// Holds that a harder job bars what the plan bars. `harden` gives nothing where there is nothing harder.
fn harder_frees_none(harden: impl Fn(&Plan) -> Vec<Plan>) {
    let looked_at = std::cell::Cell::new(0);
    for_random_jobs(|plan| {
        let harder = harden(&plan);
        if harder.is_empty() {
            return Ok(());
        }
        let mild = plan.decided(PLAIN);
        for hard in harder {
            let hard_decided = hard.decided(PLAIN);
            for (key, said) in mild.iter().filter(|(_, said)| said.verdict == Verdict::Barred) {
                looked_at.set(looked_at.get() + 1);
                let after = &hard_decided[key];
                prop_assert!(
                    after.verdict == Verdict::Barred,
                    "{key:?} is freed\n  {said:?}\n  {after:?}\n{}\n--- harder ---\n{}",
                    plan.written(PLAIN),
                    hard.written(PLAIN)
                );
            }
        }
        Ok(())
    });
    assert!(looked_at.get() > 10, "only {} barred fillers were looked at", looked_at.get());
}

/// The plan with the service of every joint changed; nothing where none changes.
fn with_services(plan: &Plan, change: impl Fn(&mut Service) -> bool) -> Option<Plan> {
    let mut plan = plan.clone();
    let mut changed = false;
    for joint in &mut plan.joints {
        changed |= change(&mut joint.service);
    }
    changed.then_some(plan)
}

/// The words behind the present one in an order.
fn steps_up(
    plan: &Plan,
    order: &[&'static str],
    of: impl Fn(&mut Service) -> &mut Option<&'static str>,
) -> Vec<Plan> {
    let step = |by: usize| {
        with_services(plan, |service| {
            let answer = of(service);
            let at = answer.and_then(|word| order.iter().position(|known| *known == word));
            let next = at.and_then(|at| order.get(at + by));
            *answer = next.copied().or(*answer);
            next.is_some()
        })
    };
    (1..order.len()).filter_map(step).collect()
}

#[test]
fn hotter() {
    harder_frees_none(|plan| {
        let by = |degrees| {
            with_services(plan, |service| {
                service.sustained.as_mut().map(|celsius| *celsius += degrees).is_some()
            })
        };
        [1, 30, 90].into_iter().filter_map(by).collect()
    });
}

#[test]
fn colder() {
    harder_frees_none(|plan| {
        let by = |degrees| {
            with_services(plan, |service| {
                service.lowest.as_mut().map(|celsius| *celsius -= degrees).is_some()
            })
        };
        [5, 70].into_iter().filter_map(by).collect()
    });
}

#[test]
fn wetter() {
    harder_frees_none(|plan| {
        steps_up(plan, &["dry", "outdoor", "fresh water", "sea water"], |service| &mut service.exposure)
    });
}

#[test]
fn formed_more() {
    harder_frees_none(|plan| steps_up(plan, &["none", "light", "severe"], |service| &mut service.forming));
}

#[test]
fn a_finish_that_shows_more() {
    for bare in ["none", "painted"] {
        harder_frees_none(|plan| {
            steps_up(plan, &[bare, "clear anodised", "colour anodised"], |service| &mut service.finish)
        });
    }
}

#[test]
fn loaded_more() {
    harder_frees_none(|plan| {
        let times = |factor: u32| {
            let mut plan = plan.clone();
            let mut loads = plan.joints.iter_mut().filter_map(|joint| joint.load.as_mut()).peekable();
            loads.peek()?;
            loads.for_each(|load| load.shear *= factor);
            Some(plan)
        };
        let shorter = || {
            let mut plan = plan.clone();
            let mut loads = plan.joints.iter_mut().filter_map(|joint| joint.load.as_mut()).peekable();
            loads.peek()?;
            loads.for_each(|Load { length, .. }| *length = (*length / 2).max(1));
            Some(plan)
        };
        [times(2), times(10), shorter()].into_iter().flatten().collect()
    });
}

/// With a dilution that the job gives, a leg changes nothing but what the throat carries.
#[test]
fn a_smaller_leg() {
    harder_frees_none(|plan| {
        let mut plan = plan.clone();
        let given = |joint: &&mut JointPlan| joint.dilution.is_some() && joint.leg > 1;
        let mut joints = plan.joints.iter_mut().filter(given).peekable();
        if joints.peek().is_none() {
            return Vec::new();
        }
        joints.for_each(|joint| joint.leg /= 2);
        vec![plan]
    });
}

/// A range of dilution about the same middle, only wider.
#[test]
fn a_dilution_less_sure() {
    harder_frees_none(|plan| {
        let by = |more: u32| {
            let mut plan = plan.clone();
            let mut changed = false;
            for dilution in plan.joints.iter_mut().filter_map(|joint| joint.dilution.as_mut()) {
                let room = more.min(dilution[0]).min(100 - dilution[1]);
                *dilution = [dilution[0] - room, dilution[1] + room];
                changed |= room > 0;
            }
            changed.then_some(plan)
        };
        [5, 20, 50].into_iter().filter_map(by).collect()
    });
}
