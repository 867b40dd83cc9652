//! Freezing many compositions: each distinct one once in a process, on all processors. Results depend on the composition
//! alone, so that neither order nor number of processors shows in them.

use crate::metallurgy::freezing::{Database, Freezing, FreezingError, Settings, freeze};
use crate::processors::for_each;
use std::collections::HashMap;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

/// A composition in mass per cent by element, without aluminium.
pub(super) type Composition = Vec<(String, f64)>;

/// The built-in thermodynamic data, read once.
fn database() -> Option<&'static Database> {
    static READ: OnceLock<Option<Database>> = OnceLock::new();
    READ.get_or_init(|| Database::aluminium().ok()).as_ref()
}

/// Starts reading the built-in data on another processor, for a caller that has other things to read first.
pub fn read_ahead() {
    std::thread::spawn(database);
}

/// Freezes a composition in mass per cent by element, with the built-in data. Errors as [`freeze`].
pub fn frozen(composition: &[(String, f64)]) -> Result<Freezing, FreezingError> {
    frozen_by(database().ok_or(FreezingError::NoLiquid)?, composition)
}

/// The same with other data.
pub fn frozen_by(database: &Database, composition: &[(String, f64)]) -> Result<Freezing, FreezingError> {
    let named: Vec<(&str, f64)> = composition
        .iter()
        .filter(|(_, content)| *content > 0.0)
        .map(|(element, content)| (element.as_str(), *content))
        .collect();
    freeze(database, &named, &Settings::default())
}

type Key = Vec<(String, u64)>;
type Done = Mutex<HashMap<Key, Option<Arc<Freezing>>>>;

fn key(composition: &Composition) -> Key {
    composition.iter().map(|(element, content)| (element.clone(), content.to_bits())).collect()
}

/// Freezes each composition; `None` where the data or the solver do not reach to the end.
pub(super) fn frozen_all(compositions: &[Composition]) -> Vec<Option<Arc<Freezing>>> {
    static DONE: OnceLock<Done> = OnceLock::new();
    let done = DONE.get_or_init(Done::default);
    // A thread that panicked leaves whole entries behind, if any.
    let lock = || done.lock().unwrap_or_else(PoisonError::into_inner);
    let mut missing: Vec<(Key, &Composition)> = {
        let known = lock();
        compositions
            .iter()
            .map(|metal| (key(metal), metal))
            .filter(|(key, _)| !known.contains_key(key))
            .collect()
    };
    // The longest work first, so that no processor is left with it at the end.
    missing.sort_by(|a, b| b.0.len().cmp(&a.0.len()).then_with(|| a.0.cmp(&b.0)));
    missing.dedup_by(|a, b| a.0 == b.0);
    for_each(&missing, |(key, metal)| {
        let result = frozen(metal).ok().map(Arc::new);
        lock().insert(key.clone(), result);
    });
    let known = lock();
    compositions.iter().map(|metal| known.get(&key(metal)).cloned().flatten()).collect()
}

/// Freezes a composition once in a process; `None` where the data or the solver do not reach to the end.
pub(super) fn frozen_once(composition: Composition) -> Option<Arc<Freezing>> {
    frozen_all(&[composition]).pop().flatten()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_by_one_or_together_is_the_same() {
        let metals: Vec<Composition> =
            (1..6).map(|step| vec![("Mg".to_owned(), 0.5), ("Si".to_owned(), f64::from(step))]).collect();
        let together = frozen_all(&metals);
        for (metal, together) in metals.iter().zip(together) {
            assert_eq!(frozen(metal).ok(), together.map(|freezing| (*freezing).clone()));
        }
    }
}
