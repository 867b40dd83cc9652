//! `whyrod why JOB FILLER`, and what it shares with `why-not`.

use super::progress::Progress;
use super::{Ending, Failure, General, inputs, print, print_json};
use crate::change::{Session, margins};
use crate::engine::Recording;
use crate::explain::{Answer, AnswerError, Explanation, Extent, why};
use crate::show::{self, Depth, Ink, dot, paint, svg, tree, width};
use crate::verdict::{Decision, Verdict};
use clap::{Args, ValueEnum};
use serde::Serialize;
use std::path::PathBuf;

/// Arguments of `why`.
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  whyrod why cyclone.toml 4043
  whyrod why cyclone.toml 4043 --joint \"boss seat\" --depth 2
  whyrod why cyclone.toml 5356 --all
  whyrod why cyclone.toml 4043 --graph svg > derivation.svg")]
pub struct Arguments {
    #[command(flatten)]
    pub(super) asked: Asked,
}

/// What `why` and `why-not` are asked.
#[derive(Args, Debug)]
pub struct Asked {
    /// The job file (TOML or JSON); - reads standard input
    job: PathBuf,
    /// The filler, in any of its spellings: 4043, ER4043, AlSi5
    filler: String,
    /// Only this joint; every joint where left out
    #[arg(long, value_name = "NAME")]
    joint: Option<String>,
    /// Show this many levels of conclusions
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

type Question = fn(&Decision<'_>, &str, &str, Extent) -> Result<Answer, AnswerError>;

/// The answers for one or all joints.
#[derive(Serialize)]
struct Answers<'a> {
    #[serde(flatten)]
    first: &'a Answer,
    /// The other joints, where several were asked about.
    #[serde(skip_serializing_if = "<[Answer]>::is_empty")]
    also: &'a [Answer],
}

pub(super) fn run(arguments: &Arguments, general: &General) -> Result<Ending, Failure> {
    let progress = Progress::new();
    let more = |session: &Session<'_>, decision: &Decision<'_>, answer: &mut Answer| {
        answer.margins =
            margins(session, decision, &answer.joint, &answer.filler, &|decided| progress.tell(decided))?;
        Ok(show::margins(&answer.margins, width()))
    };
    ask(&arguments.asked, general, why, more, |answer| match answer.verdict {
        Verdict::Recommended => format!("{} is recommended at {}.", answer.filler, answer.joint),
        Verdict::Usable => {
            format!("{} is usable at {}, and another filler is recommended.", answer.filler, answer.joint)
        }
        Verdict::Barred => format!("{} is barred at {}.", answer.filler, answer.joint),
        Verdict::Open => format!("{} is open at {}: an answer is missing.", answer.filler, answer.joint),
    })?;
    Ok(Ending::Done)
}

/// Asks about each joint that is meant, works out more about each answer, prints them, and gives them back.
pub(super) fn ask(
    asked: &Asked,
    general: &General,
    question: Question,
    more: impl Fn(&Session<'_>, &Decision<'_>, &mut Answer) -> Result<String, Failure>,
    opening: impl Fn(&Answer) -> String,
) -> Result<Vec<Answer>, Failure> {
    let rulebook = inputs::rulebook(general)?;
    let recording = if asked.all { Recording::Everything } else { Recording::First };
    let decision = inputs::decision(&asked.job, &rulebook, general, recording)?;
    let filler = crate::job::filler_named(&asked.filler, &rulebook)
        .map_or_else(|| asked.filler.clone(), |name| name.to_string());
    let joints: Vec<String> = match &asked.joint {
        Some(joint) => vec![joint.clone()],
        None => decision.job.joints.iter().map(|joint| joint.name.to_string()).collect(),
    };
    let extent = if asked.all { Extent::Every } else { Extent::First };
    let mut answers: Vec<Answer> =
        joints.iter().map(|joint| question(&decision, joint, &filler, extent)).collect::<Result<_, _>>()?;
    let session = Session::new(&rulebook)?;
    let more: Vec<String> = match asked.graph {
        Some(_) => Vec::new(),
        None => {
            answers.iter_mut().map(|answer| more(&session, &decision, answer)).collect::<Result<_, _>>()?
        }
    };
    let Some((first, also)) = answers.split_first() else { return Ok(answers) };
    let depth = asked.depth.map_or(Depth::Whole, |levels| Depth::Levels(levels.into()));
    match asked.graph {
        Some(format) => {
            let whole = joined(&answers);
            print(&match format {
                Graph::Dot => dot(&whole),
                Graph::Svg => svg(&whole, depth),
            })?;
        }
        None if general.json => print_json(&Answers { first, also })?,
        None => {
            for (index, (answer, more)) in answers.iter().zip(&more).enumerate() {
                let gap = if index == 0 { "" } else { "\n" };
                let opening = opening(answer);
                print(&format!(
                    "{gap}{}\n\n{}{more}",
                    paint(&opening, Ink::Heading),
                    tree(&answer.derivation, depth, width())
                ))?;
            }
        }
    }
    Ok(answers)
}

/// One graph out of the answers for several joints.
fn joined(answers: &[Answer]) -> Explanation {
    let mut whole = Explanation::default();
    for answer in answers {
        let shift = whole.nodes.len();
        whole.nodes.extend(answer.derivation.nodes.iter().cloned().map(|mut node| {
            node.id += shift;
            node
        }));
        whole
            .edges
            .extend(answer.derivation.edges.iter().map(|(from, to, role)| (from + shift, to + shift, *role)));
        whole.roots.extend(answer.derivation.roots.iter().map(|root| root + shift));
    }
    whole
}
