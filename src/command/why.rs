//! `whyrod why JOB FILLER`, and what it shares with `why-not`.

use super::progress::Progress;
use super::{Ending, Failure, General, inputs, print, print_answer};
use crate::change::{Session, margins, with_listed};
use crate::engine::Recording;
use crate::explain::{
    Answer, AnswerError, Better, Contrast, Explanation, Extent, Inquiry, Presence, candidate, contrast,
    inquire, why,
};
use crate::job::JobReader;
use crate::language::{Rulebook, read_pattern};
use crate::relations::FILLER;
use crate::show::{self, Depth, Length, dot, svg, width};
use crate::verdict::{Decision, Report};
use clap::{Args, ValueEnum};
use serde::Serialize;
use std::path::PathBuf;

/// Arguments of `why`.
#[derive(Args, Debug)]
#[command(after_help = "\
Three lengths:
  --brief     one sentence for the booth
  (neither)   what decides, about a screen, down to numbers and sources
  --full      everything for an audit; --depth N cuts it

Examples:
  whyrod why cyclone.toml 4043
  whyrod why cyclone.toml 4043 --joint \"boss seat\" --brief
  whyrod why cyclone.toml 5356 --full --all
  whyrod why cyclone.toml 4043 --rather-than 5356
  whyrod why cyclone.toml --fact 'pool(\"boss seat\", 4043, Mg)'
  whyrod why cyclone.toml 4043 --graph svg > derivation.svg

The exit status is 3 where the other filler of --rather-than is the better one,
or where the fact of --fact does not hold.")]
pub struct Arguments {
    #[command(flatten)]
    asked: Asked,
    /// Set the filler beside another: only what differs, what decides first
    #[arg(long, value_name = "FILLER", conflicts_with_all = ["depth", "all", "graph", "fact"])]
    rather_than: Option<String>,
}

/// What `why` and `why-not` are asked.
#[derive(Args, Debug)]
pub struct Asked {
    /// The job file (TOML or JSON); - reads standard input
    job: PathBuf,
    /// The filler, in any of its spellings: 4043, ER4043, AlSi5
    #[arg(required_unless_present = "fact")]
    filler: Option<String>,
    /// Only this joint; every joint where left out
    #[arg(long, value_name = "NAME")]
    joint: Option<String>,
    /// Ask about any fact in the rulebook's words; _ stands for anything
    #[arg(long, value_name = "FACT", conflicts_with_all = ["filler", "joint"])]
    pub(super) fact: Option<String>,
    /// One sentence, for the booth
    #[arg(long, conflicts_with_all = ["full", "depth", "all", "graph"])]
    brief: bool,
    /// Everything, for an audit: each criterion, source, place and working
    #[arg(long)]
    full: bool,
    /// Everything, but only this many levels of conclusions
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..))]
    depth: Option<u16>,
    /// Show every way in which each fact was found, not the first alone
    #[arg(long)]
    pub(super) all: bool,
    /// Write the derivation as a graph
    #[arg(long, value_enum, value_name = "FORMAT", conflicts_with = "json")]
    graph: Option<Graph>,
}

/// A format for the derivation.
#[derive(Clone, Copy, PartialEq, Eq, Debug, ValueEnum)]
enum Graph {
    /// The text format of graph tools
    Dot,
    /// A drawing
    Svg,
}

type Inquirer = fn(&Decision<'_>, &Report, &str, &str, Extent) -> Result<Answer, AnswerError>;

/// The answers for one or all joints.
#[derive(Serialize)]
struct Several<'a, T> {
    #[serde(flatten)]
    first: &'a T,
    /// The other joints, where several were asked about.
    #[serde(skip_serializing_if = "<[T]>::is_empty")]
    also: &'a [T],
}

pub(super) fn run(arguments: &Arguments, general: &General) -> Result<Ending, Failure> {
    match (&arguments.rather_than, &arguments.asked.fact) {
        (Some(other), _) => beside(&arguments.asked, other, general),
        (None, Some(fact)) => {
            let status = about_fact(&arguments.asked, fact, general)?;
            Ok(if status == Presence::Absent { Ending::None } else { Ending::Done })
        }
        (None, None) => {
            let progress = Progress::new();
            let more = |session: &Session<'_>, decision: &Decision<'_>, answer: &mut Answer| {
                let (joint, filler) = (&answer.joint, &answer.filler);
                answer.margins =
                    margins(session, decision, joint, filler, &|decided| progress.report(decided))?;
                Ok(show::margins(&answer.margins, width()))
            };
            ask(&arguments.asked, general, why, more, false).map(|_| Ending::Done)
        }
    }
}

/// Explains why a fact holds, or why it does not.
pub(super) fn about_fact(asked: &Asked, fact: &str, general: &General) -> Result<Presence, Failure> {
    let rulebook = inputs::rulebook(general)?;
    let pattern =
        read_pattern(&rulebook, "--fact", fact).map_err(|error| inputs::pattern_failure(&error, general))?;
    let decision = inputs::decision(&asked.job, &rulebook, general, Recording::Everything)?;
    print_inquiry(asked, &inquire(&decision, &pattern, asked.extent()), general)
}

/// Prints the answer about a fact.
fn print_inquiry(asked: &Asked, inquiry: &Inquiry, general: &General) -> Result<Presence, Failure> {
    match asked.graph {
        Some(format) => draw(format, asked.length(), &inquiry.derivation, &inquiry.opened)?,
        None => print_answer(general, inquiry, || show::inquiry(inquiry, asked.length(), width()))?,
    }
    Ok(inquiry.status)
}

/// Prints a derivation as a graph: all of it, or the part that decides.
fn draw(format: Graph, length: Length, whole: &Explanation, opened: &Explanation) -> Result<(), Failure> {
    print(&match (format, length) {
        (Graph::Dot, Length::Full(_)) => dot(whole),
        (Graph::Svg, Length::Full(depth)) => svg(whole, depth),
        (Graph::Dot, _) => dot(opened),
        (Graph::Svg, _) => svg(opened, Depth::Whole),
    })
}

/// Sets two fillers beside each other at each joint that is meant.
fn beside(asked: &Asked, other: &str, general: &General) -> Result<Ending, Failure> {
    let rulebook = inputs::rulebook(general)?;
    let decision = inputs::decision(&asked.job, &rulebook, general, Recording::Everything)?;
    let fillers = [asked.filler(&rulebook), named(other, &rulebook)];
    let report = decision.report();
    let joints = asked.joints(&decision);
    let contrasts: Vec<Contrast> = joints
        .iter()
        .map(|joint| contrast(&decision, &report, joint, [&fillers[0], &fillers[1]]))
        .collect::<Result<_, _>>()?;
    let Some((first, also)) = contrasts.split_first() else { return Ok(Ending::Done) };
    print_answer(general, &Several { first, also }, || {
        let pages = contrasts.iter().map(|one| show::contrast(one, asked.length(), width()));
        pages.collect::<Vec<_>>().join(asked.gap())
    })?;
    // What was asked takes for granted that the first is the better one somewhere.
    let holds = contrasts.iter().any(|one| matches!(one.better, Better::First | Better::Open));
    Ok(if holds { Ending::Done } else { Ending::None })
}

/// A filler's own name, or what was written where it has none.
fn named(written: &str, rulebook: &Rulebook) -> String {
    JobReader::new(rulebook).filler_named(written).map_or_else(|| written.to_owned(), |name| name.to_string())
}

/// Whether a rulebook knows a filler by this name.
fn is_known(filler: &str, rulebook: &Rulebook) -> bool {
    FILLER.column(rulebook, 0).any(|known| known.to_string() == filler)
}

impl Asked {
    fn length(&self) -> Length {
        match self.depth {
            _ if self.brief => Length::Brief,
            Some(levels) => Length::Full(Depth::Levels(levels.into())),
            None if self.full => Length::Full(Depth::Whole),
            None => Length::Argument,
        }
    }

    fn extent(&self) -> Extent {
        if self.all { Extent::Every } else { Extent::First }
    }

    /// The filler's own name, or what was written where it has none.
    fn filler(&self, rulebook: &Rulebook) -> String {
        self.filler.as_deref().map(|written| named(written, rulebook)).unwrap_or_default()
    }

    /// The joints that are meant.
    fn joints(&self, decision: &Decision<'_>) -> Vec<String> {
        match &self.joint {
            Some(joint) => vec![joint.clone()],
            None => decision.job.joints.iter().map(|joint| joint.name.to_string()).collect(),
        }
    }

    /// What stands between the pages of two joints.
    fn gap(&self) -> &'static str {
        if self.brief { "" } else { "\n" }
    }
}

/// Asks about each joint that is meant, works out more about each answer where one sentence is not enough, prints all, and
/// gives the answers back. With `against`, it also says why a filler is not looked at at all; then there are no answers.
pub(super) fn ask(
    asked: &Asked,
    general: &General,
    question: Inquirer,
    more: impl Fn(&Session<'_>, &Decision<'_>, &mut Answer) -> Result<String, Failure>,
    against: bool,
) -> Result<Vec<Answer>, Failure> {
    let rulebook = inputs::rulebook(general)?;
    let mut decision = inputs::decision(&asked.job, &rulebook, general, Recording::Everything)?;
    let filler = asked.filler(&rulebook);
    let mut report = decision.report();
    // What is merely not at hand is judged as if it were.
    let is_looked_at = |report: &Report| {
        report.joints.iter().flat_map(|joint| &joint.verdicts).any(|verdict| verdict.filler == filler)
    };
    let listed = is_looked_at(&report) || !is_known(&filler, &rulebook);
    let explored = asked.graph.is_none() && !asked.brief;
    // Making a rulebook ready takes a while; one sentence on a filler that is listed does without.
    let session = (explored || !listed)
        .then(|| Session::with_memory(&rulebook, decision.derivation.memory()))
        .transpose()?;
    if !listed
        && let Some(session) = &session
        && let Some(job) = with_listed(session, &decision.job, &filler)?
    {
        decision = session.decide(job, Recording::Everything)?;
        report = decision.report();
    }
    let joints = asked.joints(&decision);
    let answers = joints.iter().map(|joint| question(&decision, &report, joint, &filler, asked.extent()));
    let mut answers: Vec<Answer> = match answers.collect() {
        // A filler that the rulebook knows and the job does not look at: there is a reason for that.
        Err(AnswerError::NotACandidate { .. }) if against && is_known(&filler, &rulebook) => {
            print_inquiry(
                asked,
                &inquire(&decision, &candidate(&decision, &joints[0], &filler), asked.extent()),
                general,
            )?;
            return Ok(Vec::new());
        }
        answers => answers?,
    };
    answers.iter_mut().for_each(|answer| answer.listed = listed);
    let mut changed = vec![String::new(); answers.len()];
    if let Some(session) = session.as_ref().filter(|_| explored) {
        for (answer, page) in answers.iter_mut().zip(&mut changed) {
            *page = more(session, &decision, answer)?;
        }
    }
    let Some((first, also)) = answers.split_first() else { return Ok(answers) };
    match asked.graph {
        Some(format) => draw(
            format,
            asked.length(),
            &joined(answers.iter().map(|answer| &answer.derivation)),
            &joined(answers.iter().map(|answer| &answer.argument.opened)),
        )?,
        None => print_answer(general, &Several { first, also }, || {
            let page =
                |(one, changed): (&Answer, &String)| show::answer(one, asked.length(), width()) + changed;
            answers.iter().zip(&changed).map(page).collect::<Vec<_>>().join(asked.gap())
        })?,
    }
    Ok(answers)
}

/// One graph out of the answers for several joints.
fn joined<'a>(explanations: impl Iterator<Item = &'a Explanation>) -> Explanation {
    let mut whole = Explanation::default();
    for one in explanations {
        let shift = whole.nodes.len();
        whole.nodes.extend(one.nodes.iter().cloned().map(|mut node| {
            node.id += shift;
            node
        }));
        whole.edges.extend(one.edges.iter().map(|(from, to, role)| (from + shift, to + shift, *role)));
        whole.roots.extend(one.roots.iter().map(|root| root + shift));
    }
    whole
}
