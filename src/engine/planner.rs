//! Planning one finding: which register holds what, which premise is visited when, and by which index.

use super::error::EngineError;
use super::evaluate::Truth;
use super::lookup::{Access, Bound, Fold, Lookup};
use super::plan::{FindingPlan, Given, Hence, Join, Plan, PlanStep, Sentence, Tables, Window};
use crate::language::{
    Condition, Finding, Pattern, Premise, Rulebook, Term, Type, Value, VariableId, variables_of,
};

/// Makes the plan of a finding whose references were found valid.
pub(super) fn plan<'r>(
    rulebook: &'r Rulebook,
    finding: &'r Finding,
    tables: &mut Tables<'r>,
) -> Result<FindingPlan<'r>, EngineError> {
    let mut planner = Planner {
        rulebook,
        finding,
        tables,
        registers: finding.variables.len(),
        constants: Vec::new(),
        bindable: bindable(finding),
    };
    let mut givens = Vec::new();
    let mut premises = Vec::new();
    for premise in &finding.premises {
        let sentence = match premise {
            Premise::Given(pattern) => {
                let terms = planner.terms(pattern);
                givens.push(Given { relation: pattern.relation.index(), terms });
                Sentence::Given(givens.len() - 1)
            }
            Premise::Unless(pattern) => Sentence::Unless(planner.lookup(pattern)),
            Premise::Let { variable, formula, .. } => Sentence::Let { register: variable.index(), formula },
            Premise::Where { condition, .. } => Sentence::Where(condition),
            Premise::Aggregate { variable, how, over, members, .. } => {
                let lookup = planner.lookup(members);
                let over = over.map(|over| planner.column_of(over, members)).transpose()?;
                Sentence::Fold { register: variable.index(), fold: Fold { how: *how, members: lookup, over } }
            }
        };
        premises.push(sentence);
    }
    let hence = finding.hence.iter().map(|pattern| planner.hence(pattern)).collect::<Result<_, _>>()?;
    let full = planner.order(&givens, &premises, None)?;
    let led = (0..givens.len())
        .map(|lead| planner.order(&givens, &premises, Some(lead)))
        .collect::<Result<_, _>>()?;
    let Planner { registers, constants, bindable, .. } = planner;
    Ok(FindingPlan { registers, bindable, constants, givens, premises, hence, full, led })
}

/// Which variables some premise binds.
fn bindable(finding: &Finding) -> Vec<bool> {
    let mut bindable = vec![false; finding.variables.len()];
    for premise in &finding.premises {
        match premise {
            Premise::Given(pattern) => {
                variables_of(pattern).for_each(|(variable, _)| bindable[variable.index()] = true);
            }
            Premise::Let { variable, .. } | Premise::Aggregate { variable, .. } => {
                bindable[variable.index()] = true;
            }
            Premise::Unless(_) | Premise::Where { .. } => {}
        }
    }
    bindable
}

struct Planner<'p, 'r> {
    rulebook: &'r Rulebook,
    finding: &'r Finding,
    tables: &'p mut Tables<'r>,
    registers: usize,
    constants: Vec<(usize, usize)>,
    bindable: Vec<bool>,
}

impl<'r> Planner<'_, 'r> {
    fn malformed(&self, problem: &'static str) -> EngineError {
        EngineError::MalformedFinding { finding: self.finding.id.clone(), problem }
    }

    fn constant(&mut self, value: &'r Value) -> usize {
        let known = self.constants.iter().find(|(_, at)| self.tables.constants[*at] == value);
        if let Some((register, _)) = known {
            return *register;
        }
        self.constants.push((self.registers, self.tables.constants.len()));
        self.tables.constants.push(value);
        self.registers += 1;
        self.registers - 1
    }

    fn register(&mut self, term: &'r Term) -> Option<usize> {
        match term {
            Term::Any => None,
            Term::Variable(variable) => Some(variable.index()),
            Term::Constant(value) => Some(self.constant(value)),
        }
    }

    fn terms(&mut self, pattern: &'r Pattern) -> Vec<Bound> {
        let terms = pattern.terms.iter().enumerate();
        terms
            .filter_map(|(column, term)| self.register(term).map(|register| Bound { column, register }))
            .collect()
    }

    fn is_bindable(&self, register: usize) -> bool {
        self.bindable.get(register).copied().unwrap_or(true)
    }

    fn access(&mut self, relation: usize, key: &[Bound]) -> Access {
        if key.is_empty() {
            return Access::Scan;
        }
        if key.len() == self.rulebook.relations[relation].roles.len() {
            return Access::Whole;
        }
        let columns: Vec<usize> = key.iter().map(|key| key.column).collect();
        let indexes = &mut self.tables.indexes[relation];
        let known = indexes.iter().position(|known| *known == columns);
        Access::Index(known.unwrap_or_else(|| {
            indexes.push(columns);
            indexes.len() - 1
        }))
    }

    /// A pattern that is looked up once all its variables have values. A variable that no premise binds may have any.
    fn lookup(&mut self, pattern: &'r Pattern) -> Lookup {
        let terms = self.terms(pattern);
        let (key, free): (Vec<Bound>, Vec<Bound>) =
            terms.into_iter().partition(|term| self.is_bindable(term.register));
        let mut same = Vec::new();
        for (at, term) in free.iter().enumerate() {
            if let Some(earlier) = free[..at].iter().find(|earlier| earlier.register == term.register) {
                same.push((earlier.column, term.column));
            }
        }
        let relation = pattern.relation.index();
        Lookup { relation, access: self.access(relation, &key), key, same }
    }

    fn column_of(&self, over: VariableId, members: &Pattern) -> Result<(usize, Type), EngineError> {
        let column = variables_of(members).find(|(variable, _)| *variable == over).map(|(_, column)| column);
        let column =
            column.ok_or_else(|| self.malformed("an aggregate runs over a variable it does not contain"))?;
        Ok((column, self.rulebook.relations[members.relation.index()].roles[column].ty))
    }

    fn hence(&mut self, pattern: &'r Pattern) -> Result<Hence, EngineError> {
        let registers: Vec<usize> = pattern.terms.iter().filter_map(|term| self.register(term)).collect();
        if registers.len() != pattern.terms.len() || !registers.iter().all(|at| self.is_bindable(*at)) {
            return Err(self.malformed("a conclusion leaves a role open"));
        }
        Ok(Hence { relation: pattern.relation.index(), registers })
    }

    /// Orders the steps: each check as soon as its variables have values, and next the `given` with most of its columns
    /// bound.
    fn order(
        &mut self,
        givens: &[Given],
        premises: &[Sentence<'r>],
        lead: Option<usize>,
    ) -> Result<Plan<'r>, EngineError> {
        let mut bound = vec![false; self.finding.variables.len()];
        bound.resize(self.registers, true);
        let mut steps = Vec::new();
        let mut waiting: Vec<&Sentence<'r>> =
            premises.iter().filter(|sentence| !matches!(sentence, Sentence::Given(_))).collect();
        let mut left: Vec<usize> = (0..givens.len()).collect();
        let mut next = lead;
        loop {
            self.flush(&mut waiting, &mut bound, &mut steps)?;
            let chosen = next.take().or_else(|| {
                left.iter().copied().max_by_key(|slot| {
                    let given = &givens[*slot];
                    let ready = given.terms.iter().filter(|term| bound[term.register]).count();
                    let free = given.terms.len() - ready;
                    (ready > 0 && free == 0, ready, std::cmp::Reverse(free), std::cmp::Reverse(*slot))
                })
            });
            let Some(slot) = chosen else { break };
            left.retain(|other| *other != slot);
            let window = match lead {
                None => Window::All,
                Some(lead) => match slot.cmp(&lead) {
                    std::cmp::Ordering::Less => Window::Old,
                    std::cmp::Ordering::Equal => Window::Newest,
                    std::cmp::Ordering::Greater => Window::All,
                },
            };
            let join = self.join(&givens[slot], slot, window, &mut bound);
            steps.push(PlanStep::Join(join));
        }
        if !waiting.is_empty() {
            return Err(self.malformed("it uses a variable that nothing binds"));
        }
        let indexes = steps.iter().filter_map(PlanStep::looked_up).collect();
        Ok(Plan { steps, indexes })
    }

    fn join(&mut self, given: &Given, slot: usize, window: Window, bound: &mut [bool]) -> Join {
        let (mut key, mut binds, mut same) = (Vec::new(), Vec::new(), Vec::new());
        for term in &given.terms {
            if bound[term.register] {
                key.push(*term);
            } else if binds.iter().any(|earlier: &Bound| earlier.register == term.register) {
                same.push(*term);
            } else {
                binds.push(*term);
            }
        }
        binds.iter().for_each(|term| bound[term.register] = true);
        let access = if window == Window::Newest { Access::Scan } else { self.access(given.relation, &key) };
        Join { relation: given.relation, slot, window, access, key, binds, same }
    }

    /// Moves every check whose variables have values into the plan, the cheap ones first.
    fn flush(
        &mut self,
        waiting: &mut Vec<&Sentence<'r>>,
        bound: &mut [bool],
        steps: &mut Vec<PlanStep<'r>>,
    ) -> Result<(), EngineError> {
        loop {
            let ready = waiting
                .iter()
                .enumerate()
                .filter(|(_, sentence)| sentence.needs().iter().all(|register| bound[*register]))
                .min_by_key(|(at, sentence)| (sentence.cost(), *at))
                .map(|(at, _)| at);
            let Some(at) = ready else { return Ok(()) };
            let step = match waiting.remove(at) {
                Sentence::Given(_) => continue,
                Sentence::Unless(lookup) => PlanStep::Unless(lookup.clone()),
                Sentence::Let { register, formula } => {
                    let bound_before = std::mem::replace(&mut bound[*register], true);
                    PlanStep::Let { register: *register, formula, bound_before }
                }
                Sentence::Fold { register, fold } => {
                    let bound_before = std::mem::replace(&mut bound[*register], true);
                    PlanStep::Fold { register: *register, fold: fold.clone(), bound_before }
                }
                Sentence::Where(condition) => self.condition(condition)?,
            };
            steps.push(step);
        }
    }

    fn condition(&mut self, condition: &'r Condition) -> Result<PlanStep<'r>, EngineError> {
        let Condition::Among { left, among, negated } = condition else {
            return Ok(PlanStep::Compare(condition));
        };
        let left = self.register(left);
        let registers: Vec<usize> = among.iter().filter_map(|term| self.register(term)).collect();
        match left {
            Some(left) if registers.len() == among.len() => {
                let wanted = if *negated { Truth::Fails } else { Truth::Holds };
                Ok(PlanStep::Among { left, among: registers, wanted })
            }
            _ => Err(self.malformed("a condition compares with nothing")),
        }
    }
}
