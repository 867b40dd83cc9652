//! The matrix as a page of counts. No tests live here.

use super::exceptions::EXCEPTIONS;
use super::run::{Alloy, Outcome, Pair, Service};
use super::sources::{Said, Sources};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

/// What an alloy is counted under.
fn group(alloy: &Alloy) -> String {
    if alloy.is_cast() { format!("cast {}", alloy.family) } else { format!("{}xxx", &alloy.name[..1]) }
}

/// What is counted of the pairs of two groups.
#[derive(Default)]
struct Counts {
    said: BTreeMap<Said, usize>,
    with_filler: BTreeMap<Service, usize>,
    recommended: BTreeMap<Service, BTreeMap<String, usize>>,
}

/// The three fillers that are recommended most often.
fn most_often(counts: Option<&BTreeMap<String, usize>>) -> String {
    let mut counts: Vec<(&String, &usize)> = counts.into_iter().flatten().collect();
    counts.sort_by_key(|(filler, count)| (std::cmp::Reverse(**count), (*filler).clone()));
    let shown = counts.iter().take(3).map(|(filler, count)| format!("{filler} {count}"));
    shown.collect::<Vec<_>>().join(", ")
}

/// Lays out the counts; `parted` are the pairs of each exception.
pub fn page(
    alloys: &[Alloy],
    sources: &Sources,
    decided: &BTreeMap<(Pair, Service), Outcome>,
    parted: &[BTreeSet<Pair>],
) -> String {
    let mut groups: BTreeMap<(String, String), Counts> = BTreeMap::new();
    let mut whole: BTreeMap<(Said, Service), [usize; 2]> = BTreeMap::new();
    for ((pair, service), outcome) in decided {
        let (first, second) = (group(&alloys[pair.0]), group(&alloys[pair.1]));
        let key = if first <= second { (first, second) } else { (second, first) };
        let counts = groups.entry(key).or_default();
        let said = sources.of(*pair);
        if *service == Service::Dry {
            *counts.said.entry(said).or_default() += 1;
        }
        let served = usize::from(!outcome.usable.is_empty());
        *counts.with_filler.entry(*service).or_default() += served;
        let sum = whole.entry((said, *service)).or_default();
        *sum = [sum[0] + 1, sum[1] + served];
        for filler in &outcome.recommended {
            *counts.recommended.entry(*service).or_default().entry(filler.clone()).or_default() += 1;
        }
    }
    let names = Service::ALL.map(Service::name).join(" | ");
    let mut page = format!(
        "# The matrix\n\nEvery pair of {} base alloys with every filler, as a fillet made with GTAW, in four services: dry; hot, \
         95 °C for long; in sea water; anodised clear.\n\n## What sources say, and for how many pairs a filler is usable\n\n\
         | sources say | pairs | {names} |\n| --- | --- | --- | --- | --- | --- |\n",
        alloys.len()
    );
    for (said, words) in [
        (Said::Welded, "welded"),
        (Said::NotWelded, "not welded"),
        (Said::Disputed, "both"),
        (Said::Nothing, "nothing"),
    ] {
        let counts = Service::ALL.map(|service| whole.get(&(said, service)).copied().unwrap_or_default());
        let served = counts.map(|[_, served]| served.to_string()).join(" | ");
        let _ = writeln!(page, "| {words} | {} | {served} |", counts[0][0]);
    }
    let _ = write!(page, "\n## Where the rulebook parts from the sources\n\n");
    for (exception, pairs) in EXCEPTIONS.iter().zip(parted) {
        let services = exception.services.iter().map(|service| service.name()).collect::<Vec<_>>();
        let what = if exception.said == Said::Welded { "no filler" } else { "a filler all the same" };
        let _ = writeln!(
            page,
            "- {} to {}, {}: {what} for {} pairs. {}",
            exception.sides[0],
            exception.sides[1],
            if services.len() == 4 { "in every service".to_owned() } else { services.join(", ") },
            pairs.len(),
            exception.reason
        );
    }
    let _ = write!(
        page,
        "\n## By family\n\nPairs; of how many sources say welded / not welded / both / nothing; for how many some filler is \
         usable.\n\n| pair | pairs | said | {names} |\n| --- | --- | --- | --- | --- | --- | --- |\n"
    );
    for ((first, second), counts) in &groups {
        let said = [Said::Welded, Said::NotWelded, Said::Disputed, Said::Nothing]
            .map(|said| counts.said.get(&said).copied().unwrap_or_default());
        let served = Service::ALL
            .map(|service| counts.with_filler.get(&service).copied().unwrap_or_default().to_string());
        let _ = writeln!(
            page,
            "| {first} to {second} | {} | {} | {} |",
            said.iter().sum::<usize>(),
            said.map(|count| count.to_string()).join(" / "),
            served.join(" | ")
        );
    }
    let _ = write!(
        page,
        "\n## What is recommended most often\n\nWith the number of pairs; several may tie at one joint.\n\n\
         | pair | {names} |\n| --- | --- | --- | --- | --- |\n"
    );
    for ((first, second), counts) in groups.iter().filter(|(_, counts)| !counts.recommended.is_empty()) {
        let often = Service::ALL.map(|service| most_often(counts.recommended.get(&service))).join(" | ");
        let _ = writeln!(page, "| {first} to {second} | {often} |");
    }
    page
}
