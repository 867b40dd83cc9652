//! No two files of the library need each other, by whatever way round: each can be read after those that it uses.

use super::{code, sources};
use std::collections::{BTreeMap, BTreeSet};

/// A file by its module path: `["engine", "run"]` for `src/engine/run.rs`.
type Module = Vec<String>;

/// What is known of a file.
struct File {
    path: String,
    /// The names that it defines.
    defined: BTreeSet<String>,
    /// The paths in it, from the root of the crate, with whether each is only passed on under this file's own name.
    paths: Vec<(Module, bool)>,
}

fn module(path: &str) -> Module {
    let inner = path.trim_start_matches("src/").trim_end_matches(".rs");
    let mut parts: Module = inner.split('/').map(str::to_owned).collect();
    if parts.last().is_some_and(|last| ["mod", "lib", "main"].contains(&last.as_str())) {
        parts.pop();
    }
    parts
}

fn word(text: &str) -> &str {
    let end = text.find(|c: char| !(c.is_alphanumeric() || c == '_')).unwrap_or(text.len());
    &text[..end]
}

/// The names of items that a text defines.
fn defined(text: &str) -> BTreeSet<String> {
    const KINDS: [&str; 7] = ["fn ", "struct ", "enum ", "trait ", "type ", "const ", "static "];
    let named = |line: &str| {
        let line = line.trim_start();
        let line = line.strip_prefix("pub").map_or(line, |rest| match rest.strip_prefix('(') {
            Some(scope) => scope.split_once(')').map_or(rest, |(_, rest)| rest).trim_start(),
            None => rest.trim_start(),
        });
        let rest = KINDS.iter().find_map(|kind| line.strip_prefix(kind))?;
        Some(word(rest.strip_prefix("fn ").unwrap_or(rest)).to_owned())
    };
    text.lines().filter_map(named).collect()
}

/// A tree of paths such as `a::{b, c::{d as e}}`, each by itself.
fn spread(tree: &str) -> Vec<String> {
    let Some((before, rest)) = tree.split_once('{') else {
        return vec![tree.split(" as ").next().unwrap_or_default().trim().to_owned()];
    };
    let inside = rest.rsplit_once('}').map_or(rest, |(inside, _)| inside);
    let (mut depth, mut start, mut found) = (0, 0, Vec::new());
    for (at, c) in inside.char_indices().chain([(inside.len(), ',')]) {
        match c {
            '{' => depth += 1,
            '}' => depth -= 1,
            ',' if depth == 0 => {
                let part = inside[start..at].trim();
                if !part.is_empty() {
                    found.extend(spread(part).into_iter().map(|part| format!("{}{part}", before.trim())));
                }
                start = at + 1;
            }
            _ => {}
        }
    }
    found
}

/// A path from the root of the crate; `None` where it leads out of it.
fn from_root(own: &Module, path: &str, known: &BTreeSet<Module>) -> Option<Module> {
    let mut parts: Module = path.split("::").map(|part| part.trim().to_owned()).collect();
    let mut base = own.clone();
    match parts.first()?.as_str() {
        "crate" => base.clear(),
        "self" => {}
        "super" => {
            while parts.first().is_some_and(|part| part == "super") {
                parts.remove(0);
                base.pop();
            }
            base.extend(parts);
            return Some(base);
        }
        _ => {
            base.push(parts[0].clone());
            let child = known.contains(&base);
            base.extend_from_slice(&parts[1..]);
            return child.then_some(base);
        }
    }
    base.extend_from_slice(&parts[1..]);
    Some(base)
}

/// The paths in a text: those of `use`, and those that stand in the code.
fn paths(own: &Module, text: &str, known: &BTreeSet<Module>) -> Vec<(Module, bool)> {
    let mut found = Vec::new();
    let mut rest = String::new();
    for statement in text.split(';') {
        let line = statement.rsplit('\n').next().unwrap_or_default();
        let start =
            statement.rfind("\nuse ").or(statement.rfind("\npub use ")).or(statement.rfind("    use "));
        let Some(start) = start.filter(|start| !statement[*start..].contains("fn ")) else {
            rest.push_str(statement);
            rest.push(';');
            continue;
        };
        let passed_on = statement[start..].trim_start().starts_with("pub");
        rest.push_str(&statement[..start]);
        let tree = statement[start..].split_once("use ").map_or(line, |(_, tree)| tree);
        let tree = tree.split_whitespace().collect::<Vec<_>>().join(" ");
        found.extend(spread(&tree).iter().filter_map(|path| Some((from_root(own, path, known)?, passed_on))));
    }
    for start in ["crate::", "super::"] {
        for (at, _) in rest.match_indices(start) {
            let before = rest[..at].chars().next_back();
            if before.is_some_and(|c| c.is_alphanumeric() || c == '_' || c == ':') {
                continue;
            }
            let end = rest[at..].find(|c: char| !(c.is_alphanumeric() || c == '_' || c == ':'));
            let path = rest[at..end.map_or(rest.len(), |end| at + end)].trim_end_matches(':');
            found.extend(from_root(own, path, known).map(|path| (path, false)));
        }
    }
    found
}

/// The file in which what a path names is defined, through whatever passes it on.
fn home(path: &Module, files: &BTreeMap<Module, File>, depth: usize) -> Option<Module> {
    let prefix =
        (0..=path.len()).rev().map(|end| path[..end].to_vec()).find(|part| files.contains_key(part))?;
    let name = match path.get(prefix.len()) {
        // A module taken in whole.
        None => return Some(prefix),
        Some(name) if name == "self" => return Some(prefix),
        Some(name) => name,
    };
    let file = &files[&prefix];
    if file.defined.contains(name) || depth == 0 {
        return Some(prefix);
    }
    let passed = file.paths.iter().find(|(other, passed_on)| *passed_on && other.last() == Some(name));
    passed.map_or(Some(prefix), |(other, _)| home(other, files, depth - 1))
}

fn files(sources: BTreeMap<String, String>) -> BTreeMap<Module, File> {
    let texts: BTreeMap<String, String> = sources
        .into_iter()
        .map(|(path, text)| {
            let text = code(&text);
            let own = text.split("#[cfg(test)]\nmod tests {").next().unwrap_or_default().to_owned();
            (path, own)
        })
        .collect();
    // Modules for tests alone.
    let mut for_tests: BTreeSet<Module> = BTreeSet::new();
    for (path, text) in &texts {
        for rest in text.split("#[cfg(test)]\nmod ").skip(1) {
            let mut name = module(path);
            name.push(word(rest).to_owned());
            for_tests.insert(name);
        }
    }
    let known: BTreeSet<Module> = texts.keys().map(|path| module(path)).collect();
    let library = texts.iter().filter(|(path, _)| !matches!(path.as_str(), "src/main.rs" | "src/lib.rs"));
    library
        .map(|(path, text)| (module(path), path, text))
        .filter(|(own, ..)| !for_tests.iter().any(|test| own.starts_with(test)))
        .map(|(own, path, text)| {
            let paths = paths(&own, text, &known);
            (own, File { path: path.clone(), defined: defined(text), paths })
        })
        .collect()
}

/// For each file, those that it needs.
fn needs(files: &BTreeMap<Module, File>) -> BTreeMap<&Module, BTreeSet<Module>> {
    let of = |own: &Module, file: &File| -> BTreeSet<Module> {
        let used = file.paths.iter().filter(|(_, passed_on)| !passed_on);
        used.filter_map(|(path, _)| home(path, files, 8)).filter(|home| home != own).collect()
    };
    files.iter().map(|(own, file)| (own, of(own, file))).collect()
}

/// Files that need each other, each group by its paths.
fn circles(files: &BTreeMap<Module, File>) -> Vec<Vec<String>> {
    let needs = needs(files);
    let reached = |from: &Module| {
        let mut seen: BTreeSet<&Module> = BTreeSet::new();
        let mut waiting: Vec<&Module> = needs[from].iter().collect();
        while let Some(next) = waiting.pop() {
            if seen.insert(next) {
                waiting.extend(needs.get(next).into_iter().flatten());
            }
        }
        seen
    };
    let reached: BTreeMap<&Module, BTreeSet<&Module>> =
        files.keys().map(|module| (module, reached(module))).collect();
    let mut groups: BTreeSet<Vec<String>> = BTreeSet::new();
    for (module, below) in &reached {
        if below.contains(*module) {
            let round = below.iter().filter(|other| reached[**other].contains(*module));
            groups.insert(round.map(|other| files[*other].path.clone()).collect());
        }
    }
    groups.into_iter().collect()
}

#[test]
fn a_circle_is_seen_by_whichever_path() {
    let text = |path: &str, text: &str| (path.to_owned(), text.to_owned());
    let sources = BTreeMap::from([
        text("src/a/mod.rs", "mod one;\nmod two;\npub use two::Two;\n"),
        text("src/a/one.rs", "\nuse super::{Two};\npub struct One;\n"),
        text("src/a/two.rs", "pub struct Two;\nfn f() { super::one::One; }\n"),
        text(
            "src/b.rs",
            "\nuse crate::a::{one::One, Two};\n#[cfg(test)]\nmod tests {\n    use super::*;\n}\n",
        ),
    ]);
    assert_eq!(circles(&files(sources)), [["src/a/one.rs", "src/a/two.rs"]]);
}

#[test]
fn no_two_files_need_each_other() {
    let files = files(sources("src"));
    let arrows: usize = needs(&files).values().map(BTreeSet::len).sum();
    assert!(arrows > 500, "only {arrows} uses were seen: is the reading still right?");
    let circles = circles(&files);
    assert!(circles.is_empty(), "{circles:#?}");
}
