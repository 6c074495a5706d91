//! Colours of columns, such that one evaluation shows the effect of all columns of a colour.

/// Columns by colour: no two of a colour are felt by the same row. Greedy, in the order of the columns.
///
/// Curtis, Powell and Reid 1974, IMA Journal of Applied Mathematics 13, 117.
pub(super) fn colours(felt_by: &[Vec<usize>]) -> Vec<Vec<usize>> {
    let mut colours: Vec<Vec<usize>> = Vec::new();
    // The colours that the columns of each row have so far, a bit each.
    let mut taken_by = vec![Vec::<u64>::new(); felt_by.len()];
    let mut taken: Vec<u64> = Vec::new();
    for (column, rows) in felt_by.iter().enumerate() {
        taken.fill(0);
        for row in rows {
            for (all, own) in taken.iter_mut().zip(&taken_by[*row]) {
                *all |= own;
            }
        }
        let free = taken.iter().position(|word| *word != u64::MAX);
        let word = free.unwrap_or_else(|| {
            taken.push(0);
            taken.len() - 1
        });
        let bit = taken[word].trailing_ones();
        let colour = 64 * word + bit as usize;
        if colour == colours.len() {
            colours.push(Vec::new());
        }
        colours[colour].push(column);
        for row in rows {
            let own = &mut taken_by[*row];
            own.resize(own.len().max(word + 1), 0);
            own[word] |= 1 << bit;
        }
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
    fn columns_of_one_row_have_a_colour_each_however_many_they_are() {
        let felt_by = vec![vec![0_usize]; 150];
        assert_eq!(colours(&felt_by), (0..150).map(|column| vec![column]).collect::<Vec<_>>());
    }

    #[test]
    fn a_band_needs_as_many_colours_as_it_is_wide() {
        let felt_by: Vec<Vec<usize>> =
            (0..100_usize).map(|k| (k.saturating_sub(2)..(k + 3).min(100)).collect()).collect();
        assert_eq!(colours(&felt_by).len(), 5);
    }
}
