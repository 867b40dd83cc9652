//! Expectations: what they assume and what they claim, and names that could never hold.

use super::super::diagnostic::{Diagnostic, nearest};
use super::super::rulebook::*;
use super::super::tree::*;
use super::checker::*;
use super::patterns::PatternPlace;
use super::scope::Scope;

impl Checker<'_> {
    /// A pattern of constants and `_`, as an expectation claims it.
    pub(super) fn claim(&mut self, item: &PatternItem, scope: &mut Scope) -> Option<Pattern> {
        self.pattern(item, scope, PatternPlace::Claim)
    }

    /// A name in an expectation that is in no list where it should be, so that what is said of it could never hold.
    pub(super) fn unlisted(
        &self,
        pattern: &Pattern,
        written: &PatternItem,
        assume: &[Pattern],
    ) -> Option<Diagnostic> {
        let roles = &self.relations[pattern.relation.index()].roles;
        let mut names =
            roles.iter().zip(&pattern.terms).filter_map(|(role, term)| match (role.listed, term) {
                (Some(list), Term::Constant(Value::Symbol(name))) if list != pattern.relation => {
                    Some((list, name))
                }
                _ => None,
            });
        names.find_map(|(list, name)| {
            let listed =
                |cells: &[Value]| matches!(cells.first(), Some(Value::Symbol(known)) if known == name);
            let assumed = assume.iter().filter(|known| known.relation == list).any(|known| {
                matches!(known.terms.first(), Some(Term::Constant(Value::Symbol(known))) if known == name)
            });
            let rows = || self.facts.iter().filter(|fact| fact.relation == list);
            if assumed || rows().any(|fact| listed(&fact.cells)) {
                return None;
            }
            let relation = &self.relations[list.index()].name;
            let place = written.arguments.iter().map(|(_, word)| word).find(|word| *word.text == **name);
            let span = place.map_or(written.span, |word| word.span);
            let message = format!("\"{name}\" stands in no row of {relation}");
            let mut diagnostic = Diagnostic::new(span, message, "not known");
            let known: Vec<String> =
                rows().filter_map(|fact| fact.cells.first().map(ToString::to_string)).collect();
            diagnostic = match nearest(name, known.iter().map(String::as_str)) {
                Some(near) => diagnostic.help(format!("did you mean \"{near}\"?")),
                None => diagnostic.help(format!("\"assume {relation}({name}, …)\" adds one for this check")),
            };
            Some(diagnostic)
        })
    }

    pub(super) fn expectation(&mut self, item: &ExpectationItem) {
        let mut scope = Scope::default();
        let mut assume: Vec<Pattern> = Vec::new();
        for (place, written) in item.assume.iter().enumerate() {
            let Some(pattern) = self.pattern(written, &mut scope, PatternPlace::Assume) else { continue };
            let relation = &self.relations[pattern.relation.index()];
            if matches!(relation.origin, Origin::Computed { .. }) {
                let message = format!("\"{}\" cannot be assumed", relation.name);
                self.report(Diagnostic::new(written.span, message, "the program computes it"));
                continue;
            }
            // What an expectation says itself stands in the place of what its background says.
            if matches!(relation.origin, Origin::Question(_)) && place >= item.background {
                let about = pattern.terms.len() - 1;
                assume.retain(|known| {
                    known.relation != pattern.relation || known.terms[..about] != pattern.terms[..about]
                });
            }
            assume.push(pattern);
        }
        let claims: Vec<(Claim, Pattern)> = item
            .claims
            .iter()
            .filter_map(|(claim, pattern)| self.claim(pattern, &mut scope).map(|pattern| (*claim, pattern)))
            .collect();
        let named = assume.iter().zip(&item.assume).chain(
            claims.iter().map(|(_, pattern)| pattern).zip(item.claims.iter().map(|(_, written)| written)),
        );
        let unlisted: Vec<Diagnostic> =
            named.filter_map(|(pattern, written)| self.unlisted(pattern, written, &assume)).collect();
        self.diagnostics.extend(unlisted);
        if item.claims.is_empty() {
            self.report(Diagnostic::new(
                item.name.span,
                "this expectation claims nothing",
                "needs hence, never or open",
            ));
        }
        self.expectations.push(Expectation {
            name: item.name.text.clone(),
            cites: item.cites.iter().map(|cite| cite.cite.clone()).collect(),
            assume,
            claims,
            span: item.name.span,
        });
    }
}
