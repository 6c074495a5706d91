//! Colours of columns, such that one evaluation shows the effect of all columns of a colour.

/// Columns by colour: no two of a colour are felt by the same row. Greedy, in the order of the columns.
///
/// Curtis, Powell and Reid 1974, IMA Journal of Applied Mathematics 13, 117.
pub(super) fn colours(felt_by: &[Vec<usize>]) -> Vec<Vec<usize>> {
    let mut columns_of = vec![Vec::new(); felt_by.len()];
    for (column, rows) in felt_by.iter().enumerate() {
        for row in rows {
            columns_of[*row].push(column);
        }
    }
    let mut colour_of: Vec<Option<usize>> = vec![None; felt_by.len()];
    let mut colours: Vec<Vec<usize>> = Vec::new();
    // The column for which each colour was last seen to be taken.
    let mut taken_for: Vec<usize> = Vec::new();
    for column in 0..felt_by.len() {
        for other in felt_by[column].iter().flat_map(|row| &columns_of[*row]) {
            if let Some(colour) = colour_of[*other] {
                taken_for[colour] = column;
            }
        }
        let free = taken_for.iter().position(|taken| *taken != column);
        let colour = free.unwrap_or_else(|| {
            colours.push(Vec::new());
            taken_for.push(usize::MAX);
            colours.len() - 1
        });
        colour_of[column] = Some(colour);
        colours[colour].push(column);
    }
    colours
}

#[cfg(test)]
mod tests {
    use super::colours;

    #[test]
    fn no_row_feels_two_columns_of_a_colour() {
        let felt_by: Vec<Vec<usize>> = (0..40_usize).map(|k| vec![k, (k + 1) % 40, (7 * k) % 40]).collect();
        let found = colours(&felt_by);
        assert_eq!(found.iter().map(Vec::len).sum::<usize>(), 40);
        for columns in &found {
            let mut rows: Vec<usize> = columns.iter().flat_map(|column| felt_by[*column].iter().copied()).collect();
            for column in columns {
                // A column may name a row twice.
                let own = &felt_by[*column];
                assert!(
                    columns
                        .iter()
                        .filter(|other| *other != column)
                        .all(|other| { felt_by[*other].iter().all(|row| !own.contains(row)) })
                );
            }
            rows.sort_unstable();
        }
    }

    #[test]
    fn a_band_needs_as_many_colours_as_it_is_wide() {
        let felt_by: Vec<Vec<usize>> =
            (0..100_usize).map(|k| (k.saturating_sub(2)..(k + 3).min(100)).collect()).collect();
        assert_eq!(colours(&felt_by).len(), 5);
    }
}
