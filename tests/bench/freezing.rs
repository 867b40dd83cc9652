//! Time of one freezing calculation, by number of elements. Accuracy is measured in the tests.

use divan::{Bencher, black_box};
use whyrod::metallurgy::freezing::{Database, Settings, freeze};

const POOLS: [(&str, &[(&str, f64)]); 5] = [
    ("Al-5Si", &[("Si", 5.0)]),
    ("Al-Mg-Si", &[("Si", 1.0), ("Mg", 0.9)]),
    ("Al-Cu-Mg-Si", &[("Si", 2.44), ("Mg", 0.6), ("Cu", 0.168)]),
    ("six: 6061 type", &[("Si", 2.6), ("Mg", 0.6), ("Cu", 0.2), ("Zn", 0.1), ("Mn", 0.1), ("Fe", 0.4)]),
    ("six: 7xxx type", &[("Si", 0.2), ("Mg", 3.5), ("Cu", 0.8), ("Zn", 2.8), ("Mn", 0.4), ("Fe", 0.3)]),
];

fn main() {
    divan::main();
}

#[divan::bench(args = POOLS.iter().map(|(name, _)| *name))]
fn pool(bencher: Bencher, name: &str) {
    let data = Database::aluminium().expect("the built-in data can be read");
    let composition = POOLS.iter().find(|(n, _)| *n == name).map_or(&[][..], |(_, c)| c);
    let settings = Settings::default();
    bencher.bench(|| freeze(black_box(&data), black_box(composition), &settings));
}

#[divan::bench]
fn read_built_in_data(bencher: Bencher) {
    bencher.bench(Database::aluminium);
}
