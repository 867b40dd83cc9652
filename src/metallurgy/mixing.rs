//! The composition of a weld pool: filler diluted by base metal. How much base metal melts is decided elsewhere.

use crate::quantity::{Dimension, Quantity, format_number};

/// A value with its bounds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// The least it can be.
    pub lowest: Quantity,
    /// What it usually is.
    pub nominal: Quantity,
    /// The most it can be.
    pub highest: Quantity,
}

/// One base metal in the pool: its share of the whole weld metal (a ratio) and what it holds of the element (mass per
/// cent). The shares of all base metals rise and fall together, since one dilution governs them.
#[derive(Clone, Copy, Debug)]
pub struct Melted {
    /// Share of the pool.
    pub share: Spread,
    /// Content of the element.
    pub content: Spread,
}

/// Content of one element in the pool: `Σ share · base + (1 − Σ share) · filler`, the dilution rule of welding
/// metallurgy (AWS Welding Handbook, vol. 1, and common practice). Lowest and highest are taken over the corners: all
/// shares at their least or at their most, and every metal at that end of its own range. The content is linear in each,
/// so no inner point lies beyond the corners. In mass per cent.
pub fn pool_content(melted: &[Melted], filler: &Spread) -> Spread {
    let mix = |share: fn(&Spread) -> Quantity, content: fn(&Spread) -> Quantity| {
        let base: f64 =
            melted.iter().map(|metal| share(&metal.share).base * content(&metal.content).base).sum();
        let diluted: f64 = melted.iter().map(|metal| share(&metal.share).base).sum();
        base + (1.0 - diluted) * content(filler).base
    };
    let percent = |value: f64| Quantity::from_base(value, Dimension::MASS_PERCENT);
    let least = mix(|s| s.lowest, |c| c.lowest).min(mix(|s| s.highest, |c| c.lowest));
    let most = mix(|s| s.lowest, |c| c.highest).max(mix(|s| s.highest, |c| c.highest));
    Spread {
        lowest: percent(least),
        nominal: percent(mix(|s| s.nominal, |c| c.nominal)),
        highest: percent(most),
    }
}

/// Nominal content of one element at one end of the dilution, in mass per cent: the same rule as [`pool_content`].
pub fn pool_at(melted: &[Melted], filler: &Spread, end: fn(&Spread) -> Quantity) -> Quantity {
    let diluted: f64 = melted.iter().map(|metal| end(&metal.share).base).sum();
    let base: f64 = melted.iter().map(|metal| end(&metal.share).base * metal.content.nominal.base).sum();
    Quantity::from_base(base + (1.0 - diluted) * filler.nominal.base, Dimension::MASS_PERCENT)
}

/// The arithmetic of [`pool_content`] written out, one line for each of lowest, nominal and highest.
pub fn written_out(names: &[&str], melted: &[Melted], filler_name: &str, filler: &Spread) -> Vec<String> {
    let line = |title: &str, share: fn(&Spread) -> Quantity, content: fn(&Spread) -> Quantity| {
        let diluted: f64 = melted.iter().map(|metal| share(&metal.share).base).sum();
        let mut terms: Vec<String> = melted
            .iter()
            .zip(names)
            .map(|(metal, name)| {
                let part = format_number(share(&metal.share).base * 100.0);
                format!("{part} % of {name} at {}", content(&metal.content))
            })
            .collect();
        terms.push(format!(
            "{} % of {filler_name} at {}",
            format_number((1.0 - diluted) * 100.0),
            content(filler)
        ));
        let base: f64 =
            melted.iter().map(|metal| share(&metal.share).base * content(&metal.content).base).sum();
        let total = base + (1.0 - diluted) * content(filler).base;
        (
            total,
            format!(
                "{title}: {} = {}",
                terms.join(" + "),
                Quantity::from_base(total, Dimension::MASS_PERCENT)
            ),
        )
    };
    let pick =
        |a: (f64, String), b: (f64, String), smaller: bool| if (a.0 <= b.0) == smaller { a.1 } else { b.1 };
    vec![
        pick(line("lowest", |s| s.lowest, |c| c.lowest), line("lowest", |s| s.highest, |c| c.lowest), true),
        line("nominal", |s| s.nominal, |c| c.nominal).1,
        pick(
            line("highest", |s| s.lowest, |c| c.highest),
            line("highest", |s| s.highest, |c| c.highest),
            false,
        ),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spread(lowest: f64, nominal: f64, highest: f64, dimension: Dimension) -> Spread {
        let of = |value| Quantity::from_base(value, dimension);
        Spread { lowest: of(lowest), nominal: of(nominal), highest: of(highest) }
    }

    fn percent(value: f64) -> Spread {
        spread(value, value, value, Dimension::MASS_PERCENT)
    }

    fn share(value: f64) -> Spread {
        spread(value, value, value, Dimension::SHARE)
    }

    #[test]
    fn worked_mixes_come_out() {
        // Worked mixes: own arithmetic on nominal compositions (from memory): 6061 at 60 % with 4043 gives 2.44 % Si;
        // 5083 and 6061 at 30 % each with 5356 give 3.62 % Mg.
        let silicon = pool_content(&[Melted { share: share(0.6), content: percent(0.6) }], &percent(5.2));
        assert!((silicon.nominal.base - 2.44).abs() < 1e-12);
        let magnesium = pool_content(
            &[
                Melted { share: share(0.3), content: percent(4.4) },
                Melted { share: share(0.3), content: percent(1.0) },
            ],
            &percent(5.0),
        );
        assert!((magnesium.nominal.base - 3.62).abs() < 1e-12);
    }

    #[test]
    fn bounds_are_the_corners() {
        let melted = [Melted {
            share: spread(0.4, 0.5, 0.6, Dimension::SHARE),
            content: spread(0.4, 0.6, 0.8, Dimension::MASS_PERCENT),
        }];
        let filler = spread(4.5, 5.2, 6.0, Dimension::MASS_PERCENT);
        let pool = pool_content(&melted, &filler);
        assert!((pool.lowest.base - (0.6 * 0.4 + 0.4 * 4.5)).abs() < 1e-12);
        assert!((pool.highest.base - (0.4 * 0.8 + 0.6 * 6.0)).abs() < 1e-12);
        let lines = written_out(&["6061"], &melted, "4043", &filler);
        assert!(lines[0].ends_with(&format!("= {}", pool.lowest)), "{lines:?}");
        assert!(lines[2].ends_with(&format!("= {}", pool.highest)), "{lines:?}");
    }
}
