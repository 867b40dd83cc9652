//! Numbers as they are written: the one place that decides digits.

/// A number for a reader: four significant digits at most below 1000, whole above, no trailing zeros.
pub fn format_number(value: f64) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    if !value.is_finite() {
        return value.to_string();
    }
    let magnitude = value.abs().log10().floor() as i32;
    if !(-5..9).contains(&magnitude) {
        return format!("{value:.3e}");
    }
    let decimals = (3 - magnitude).clamp(0, 8) as usize;
    let text = format!("{value:.decimals$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn writes_few_digits() {
        assert_eq!(format_number(3.0), "3");
        assert_eq!(format_number(0.634_12), "0.6341");
        assert_eq!(format_number(1234.5), "1234");
        assert_eq!(format_number(-0.000_000_001), "-1.000e-9");
    }
}
