//! `whyrod pool`: a mixture that belongs to no job. What is worked out lives in `mixture`.

use super::{Ending, Failure, General, inputs, print_answer, write_new};
use crate::job::JobReader;
use crate::mixture::{FreezingData, PoolQuestion, mixture, parse_composition, sweep};
use crate::quantity::{Dimension, Interval, Quantity, parse_interval};
use crate::relations::FILLER;
use crate::show::{pool, pool_plot, sweep_table, width};
use clap::Args;
use std::path::PathBuf;
use std::sync::Arc;

/// Arguments of `pool`.
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  whyrod pool --base 6061 --filler 4043 --dilution 40..60%
  whyrod pool --base 6061 --base 5052 --filler 4043 --dilution 60% --plot pool.svg
  whyrod pool --base 6061                            welded without filler
  whyrod pool --composition \"Si 5.2, Mg 0.3\" --json
  whyrod pool --base 6061 --base 5052 --sweep        every filler, over dilution")]
pub struct Arguments {
    /// A base alloy; twice for a joint of two alloys
    #[arg(
        long,
        value_name = "ALLOY",
        required_unless_present = "composition",
        conflicts_with = "composition"
    )]
    base: Vec<String>,
    /// The filler; none where left out
    #[arg(long, value_name = "FILLER", conflicts_with = "composition", requires = "dilution")]
    filler: Option<String>,
    /// Share of base metal in the pool, such as 60% or 40..60%
    #[arg(long, value_name = "SHARE", conflicts_with = "composition")]
    dilution: Option<String>,
    /// A composition in mass per cent instead, such as "Si 5.2, Mg 0.3"
    #[arg(long, value_name = "LIST")]
    composition: Option<String>,
    /// Draw the freezing curve, and both measures of cracking over dilution, as an SVG
    #[arg(long, value_name = "FILE.svg", conflicts_with = "sweep")]
    plot: Option<PathBuf>,
    /// Write over a file that is there
    #[arg(long, requires = "plot")]
    overwrite: bool,
    /// Tabulate the base metals with every available filler over dilution
    #[arg(long, conflicts_with_all = ["filler", "composition", "dilution"])]
    sweep: bool,
    /// Thermodynamic data to freeze with (a TDB file) instead of the built-in ones
    #[arg(long, value_name = "FILE.tdb")]
    data: Option<PathBuf>,
    /// Sample this many pools over dilution and limits (Latin hypercube, fixed seed)
    #[arg(long, value_name = "COUNT", default_value_t = 0, value_parser = clap::value_parser!(u16).range(0..=5000))]
    sample: u16,
}

/// Steps of a sweep over dilution.
const STEPS: usize = 20;

pub(super) fn run(arguments: &Arguments, general: &General) -> Result<Ending, Failure> {
    let rulebook = inputs::rulebook(general)?;
    let names = JobReader::new(&rulebook);
    let bases = bases(arguments, &names)?;
    let data = arguments.data.as_deref().map(|path| data(path, general)).transpose()?;
    if arguments.sweep {
        let fillers: Vec<String> = FILLER.column(&rulebook, 0).map(ToString::to_string).collect();
        let table = sweep(&rulebook, &bases, &fillers, STEPS, data)?;
        print_answer(general, &table, || sweep_table(&table))?;
        return Ok(Ending::Done);
    }
    let filler = arguments
        .filler
        .as_deref()
        .map(|filler| named("filler", filler, names.filler_named(filler)))
        .transpose()?;
    let composition =
        arguments.composition.as_deref().map(|text| parse_composition(text, &rulebook)).transpose()?;
    let question = PoolQuestion {
        dilution: dilution(arguments)?,
        bases: bases.clone(),
        filler: filler.clone(),
        composition,
        sample: arguments.sample.into(),
        data: data.clone(),
    };
    let answer = mixture(&rulebook, &question)?;
    if let Some(path) = &arguments.plot {
        let sweep = filler.map(|filler| sweep(&rulebook, &bases, &[filler], STEPS, data)).transpose()?;
        let plot = pool_plot(&answer, sweep.as_ref());
        write_new(path, arguments.overwrite, |out| out.write_all(plot.as_bytes()))?;
    }
    print_answer(general, &answer, || pool(&answer, width()))?;
    Ok(Ending::Done)
}

/// Largest file of thermodynamic data that is read, unless a larger budget is given.
const LARGEST_DATA: u64 = 64 * 1024 * 1024;

fn data(path: &std::path::Path, general: &General) -> Result<Arc<FreezingData>, Failure> {
    use std::io::Read;
    let failed = |error: String| Failure::message(format!("{}: {error}", path.display()));
    // What is no ordinary file may not have an end, and of what is no such data nothing may show in a message.
    let about = std::fs::metadata(path).map_err(|error| failed(error.to_string()))?;
    if !about.is_file() || path.extension().is_none_or(|ending| !ending.eq_ignore_ascii_case("tdb")) {
        return Err(failed("thermodynamic data stand in an ordinary file that ends in .tdb".to_owned()));
    }
    let most = LARGEST_DATA.saturating_mul(general.budget.into());
    if about.len() > most {
        let message =
            format!("larger than {} MiB, and no such data are; raise the limit with --budget", most >> 20);
        return Err(failed(message));
    }
    let mut bytes = Vec::new();
    let file = std::fs::File::open(path).map_err(|error| failed(error.to_string()))?;
    file.take(most).read_to_end(&mut bytes).map_err(|error| failed(error.to_string()))?;
    let database =
        FreezingData::read(&String::from_utf8_lossy(&bytes)).map_err(|error| failed(error.to_string()))?;
    Ok(Arc::new(database))
}

fn named(what: &str, written: &str, found: Option<Arc<str>>) -> Result<String, Failure> {
    found
        .map(|name| name.to_string())
        .ok_or_else(|| Failure::message(format!("\"{written}\" is not one {what} that this rulebook knows")))
}

fn bases(arguments: &Arguments, names: &JobReader<'_>) -> Result<Vec<String>, Failure> {
    if arguments.base.len() > 2 {
        return Err(Failure::message("a joint has two sides: give --base once or twice"));
    }
    let mut bases = Vec::new();
    for written in &arguments.base {
        let base = named("alloy", written, names.alloy_named(written))?;
        if !bases.contains(&base) {
            bases.push(base);
        }
    }
    Ok(bases)
}

fn dilution(arguments: &Arguments) -> Result<Interval, Failure> {
    let whole = Interval::single(Quantity::from_base(1.0, Dimension::SHARE));
    let Some(text) = &arguments.dilution else { return Ok(whole) };
    let range = parse_interval(text, Some(Dimension::SHARE))
        .map_err(|error| Failure::message(format!("--dilution {text}: {error}")))?;
    let inside = |end: Option<Quantity>| end.is_some_and(|end| (0.0..=1.0).contains(&end.base));
    if inside(range.lowest) && inside(range.highest) {
        Ok(range)
    } else {
        Err(Failure::message(format!(
            "--dilution {text}: a share lies between 0 and 100 %, with both ends given"
        )))
    }
}
