//! The benchmark's two workloads written with the libraries it compares with. They record nothing and know numbers only.

use ascent::ascent;
use datafrog::{Iteration, Relation, RelationLeaper};

/// What the verdicts follow from.
pub struct Verdicts {
    pub pairs: Vec<(u32, u32)>,
    pub fillers: Vec<(u32, f64)>,
    pub services: Vec<(u32, f64)>,
    pub cracks: Vec<(u32, u32)>,
    pub corrodes: Vec<(u32, u32)>,
    pub softens: Vec<(u32, u32)>,
}

ascent! {
    struct Closure;
    relation edge(u32, u32);
    relation path(u32, u32);
    path(x, y) <-- edge(x, y);
    path(x, z) <-- path(x, y), edge(y, z);
}

/// How many paths.
pub fn closure_by_ascent(edges: &[(u32, u32)]) -> usize {
    let mut program = Closure { edge: edges.to_vec(), ..Closure::default() };
    program.run();
    program.path.len()
}

/// How many paths.
pub fn closure_by_datafrog(edges: &[(u32, u32)]) -> usize {
    let mut iteration = Iteration::new();
    let edges: Relation<(u32, u32)> = edges.iter().copied().collect();
    // Paths are kept by their end, so that the next edge is found by it.
    let paths = iteration.variable::<(u32, u32)>("paths");
    paths.extend(edges.iter().map(|(from, to)| (*to, *from)));
    while iteration.changed() {
        paths.from_join(&paths, &edges, |_, from, to| (*to, *from));
    }
    paths.complete().len()
}

ascent! {
    struct Table;
    relation pair(u32, u32);
    relation filler(u32, u64);
    relation service(u32, u64);
    relation cracks(u32, u32);
    relation corrodes(u32, u32);
    relation softens(u32, u32);
    relation usable(u32, u32, u32, u32);
    relation barred(u32, u32, u32, u32);
    usable(a, b, f, s) <-- pair(a, b), filler(f, n), service(s, l), if f64::from_bits(*n) * 2.0 > f64::from_bits(*l),
        !cracks(a, f), !cracks(b, f), !corrodes(a, s), !corrodes(b, s), !softens(f, s);
    barred(a, b, f, s) <-- pair(a, b), filler(f, _), service(s, _), !usable(a, b, f, s);
}

/// How many verdicts.
pub fn verdicts_by_ascent(verdicts: &Verdicts) -> usize {
    let bits = |list: &[(u32, f64)]| list.iter().map(|(name, number)| (*name, number.to_bits())).collect();
    let mut program = Table {
        pair: verdicts.pairs.clone(),
        filler: bits(&verdicts.fillers),
        service: bits(&verdicts.services),
        cracks: verdicts.cracks.clone(),
        corrodes: verdicts.corrodes.clone(),
        softens: verdicts.softens.clone(),
        ..Table::default()
    };
    program.run();
    program.usable.len() + program.barred.len()
}

type Combination = (u32, u32, u32, u32);

/// How many verdicts. What is looked up by hand here are filler and service alone, three hundred of them.
pub fn verdicts_by_datafrog(verdicts: &Verdicts) -> usize {
    let sorted = |list: &[(u32, u32)]| -> Relation<(u32, u32)> { list.iter().copied().collect() };
    let (cracks, corrodes, softens) =
        (sorted(&verdicts.cracks), sorted(&verdicts.corrodes), sorted(&verdicts.softens));
    let services = |enough: &dyn Fn(f64, f64) -> bool| -> Relation<(u32, u32)> {
        let mut found = Vec::new();
        for (filler, number) in &verdicts.fillers {
            let fitting = verdicts.services.iter().filter(|(_, load)| enough(*number, *load));
            found.extend(fitting.map(|(service, _)| (*filler, *service)));
        }
        Relation::from_vec(found)
    };
    let strong = services(&|number, load| number * 2.0 > load);
    let any = services(&|_, _| true);
    let pairs: Relation<(u32, u32)> = sorted(&verdicts.pairs);
    let fillers = verdicts.fillers.iter().map(|(filler, _)| *filler);
    let combined: Relation<(u32, u32, u32)> =
        pairs.iter().flat_map(|(a, b)| fillers.clone().map(|filler| (*a, *b, filler))).collect();
    let usable: Relation<Combination> = Relation::from_leapjoin(
        &combined,
        (
            strong.extend_with(|(_, _, filler): &(u32, u32, u32)| *filler),
            cracks.filter_anti(|(a, _, filler): &(u32, u32, u32)| (*a, *filler)),
            cracks.filter_anti(|(_, b, filler): &(u32, u32, u32)| (*b, *filler)),
            corrodes.extend_anti(|(a, _, _): &(u32, u32, u32)| *a),
            corrodes.extend_anti(|(_, b, _): &(u32, u32, u32)| *b),
            softens.extend_anti(|(_, _, filler): &(u32, u32, u32)| *filler),
        ),
        |(a, b, filler), service| (*a, *b, *filler, *service),
    );
    let whole: Relation<((u32, u32, u32), u32)> =
        usable.iter().map(|(a, b, filler, service)| ((*a, *b, *filler), *service)).collect();
    let barred: Relation<Combination> = Relation::from_leapjoin(
        &combined,
        (
            any.extend_with(|(_, _, filler): &(u32, u32, u32)| *filler),
            whole.extend_anti(|combination: &(u32, u32, u32)| *combination),
        ),
        |(a, b, filler), service| (*a, *b, *filler, *service),
    );
    usable.len() + barred.len()
}
