//! Reading a line of comma-separated values, as the tables under `tests/outside/data` have them. What a table means stands in its test.

/// Cells of a line, of which some are quoted.
pub fn cells(line: &str) -> Vec<String> {
    let mut cells = vec![String::new()];
    let mut quoted = false;
    for letter in line.chars() {
        match letter {
            '"' => quoted = !quoted,
            ',' if !quoted => cells.push(String::new()),
            _ => cells.last_mut().expect("one at least").push(letter),
        }
    }
    cells
}
