//! Cells as lines: one for each, or of many the highest, the one in the middle and the lowest.

use super::Line;

/// More cells than this would be a knot of lines.
const MOST_LINES: usize = 8;

type Points = Vec<(f64, f64)>;

/// `read`: time, and each cell's figure.
pub fn lines_of_cells(read: &[(f64, Vec<f64>)]) -> Vec<Line> {
    let most = read.iter().map(|(_, cells)| cells.len()).max().unwrap_or(0);
    if most > MOST_LINES {
        return highest_middle_lowest(read);
    }
    let of_cell = |cell: usize| {
        let points = read.iter();
        let points = points.filter_map(|(at, cells)| Some((*at, *cells.get(cell)?)));
        let number = (cell + 1).to_string();
        line(&number, &format!("Cell {number}"), points.collect())
    };
    (0..most).map(of_cell).collect()
}

fn line(letter: &str, name: &str, points: Points) -> Line {
    Line {
        letter: letter.to_owned(),
        name: name.to_owned(),
        points,
    }
}

fn highest_middle_lowest(read: &[(f64, Vec<f64>)]) -> Vec<Line> {
    let sorted = |cells: &[f64]| {
        let mut cells = cells.to_vec();
        cells.sort_by(f64::total_cmp);
        cells
    };
    let of = |place: &dyn Fn(usize) -> usize| -> Points {
        let each = read.iter();
        each.filter_map(|(at, cells)| {
            let value = sorted(cells).get(place(cells.len())).copied()?;
            Some((*at, value))
        })
        .collect()
    };
    vec![
        line("H", "Highest cell", of(&|count| count.saturating_sub(1))),
        line("M", "Cell in the middle", of(&|count| count / 2)),
        line("L", "Lowest cell", of(&|_| 0)),
    ]
}
