//! Sheets as programs write them, and as nobody should.

use super::*;

fn cells(text: &str) -> Vec<Vec<String>> {
    let grid = grid(text).expect("a sheet");
    let rows = grid.rows.iter().map(own_cells);
    [vec![grid.headings.clone()], rows.collect()].concat()
}

fn own_cells(row: &Row) -> Vec<String> {
    row.cells().map(str::to_owned).collect()
}

fn wrong(text: &str) -> (usize, String) {
    let found = grid(text).expect_err("told what is wrong").shown.remove(0);
    (found.line, found.column)
}

#[test]
fn comma_semicolon_and_tab_are_told_apart_by_the_headings() {
    let same = vec![
        vec!["a".to_owned(), "b".to_owned()],
        vec!["1".to_owned(), "2,5".to_owned()],
    ];
    for text in [
        "a,b\n1,\"2,5\"",
        "a;b\r\n1;2,5\r\n",
        "a\tb\r1\t2,5",
        "\u{feff}a;b\n1;2,5",
        "sep=;\na;b\n1;2,5",
    ] {
        assert_eq!(cells(text), same, "{text:?}");
    }
}

#[test]
fn quoted_cells_hold_separators_line_ends_and_doubled_marks_and_lines_are_still_counted() {
    let sheet = grid("a,b\n\"x,\r\ny\",\"say \"\"hi\"\"\"\n\n3,4").expect("a sheet");
    assert_eq!(own_cells(&sheet.rows[0]), ["x,\ny", "say \"hi\""]);
    assert_eq!((sheet.rows[0].line, sheet.rows[1].line), (2, 5));
}

#[test]
fn what_cannot_be_split_is_told_by_line_and_column() {
    assert_eq!(wrong("a,b\n1,\"open"), (2, "column 2".to_owned()));
    assert_eq!(wrong("a,b\n1,2\n\"x\"y,2"), (3, "column 1".to_owned()));
    assert_eq!(wrong("a,b\n1,2,3"), (2, "column 3".to_owned()));
    assert_eq!(wrong(""), (1, "column 1".to_owned()));
    assert_eq!(wrong("a,b\n"), (2, "column 1".to_owned()));
    let long = format!("a,b\n1,{}", "x".repeat(LONGEST_CELL + 1));
    assert_eq!(wrong(&long), (2, "column “b”".to_owned()));
}

#[test]
fn too_many_rows_and_columns_are_told() {
    let wide = "x,".repeat(MOST_COLUMNS) + "x\n1";
    assert_eq!(wrong(&wide), (1, format!("column {}", MOST_COLUMNS + 1)));
    let long = "a\n".to_owned() + &"1\n".repeat(MOST_ROWS + 1);
    assert_eq!(wrong(&long).0, MOST_ROWS + 2);
    assert!(grid(&long[..long.len() - 2]).is_ok());
}

#[test]
fn a_space_before_a_quotation_mark_is_none_of_the_cell() {
    let sheet = cells("a, \"b, c\"\n1,  \"x, y\" \n 2 , z");
    assert_eq!(sheet[0], ["a", "b, c"]);
    assert_eq!(sheet[1], ["1", "x, y"]);
    assert_eq!(sheet[2], ["2 ", "z"]);
}

#[test]
fn of_a_huge_sheet_only_what_is_taken_is_kept_and_the_rest_is_counted() {
    let blank = "a,b\n".to_owned() + &" ,\n".repeat(500_000) + "1,2\n";
    let blank = split(&blank, MOST_ROWS + 2);
    assert_eq!((blank.rows.len(), blank.row_count), (2, 2));
    assert_eq!(blank.rows[1].line, 500_002);
    let long = split(&"a\n".repeat(500_000), MOST_ROWS + 2);
    assert_eq!((long.rows.len(), long.row_count), (MOST_ROWS + 2, 500_000));
    let told = grid(&"a\n".repeat(500_000)).expect_err("too long");
    assert!(
        told.shown[0].words.contains("this one has 499999"),
        "{told:?}"
    );
    let wide = split(
        &("a".to_owned() + &",b".repeat(500_000) + "\n1"),
        MOST_ROWS + 2,
    );
    assert_eq!(wide.rows[0].ends.len(), MOST_COLUMNS);
    assert!(wide.rows[0].text.len() == MOST_COLUMNS && wide.troubles.count == 1);
}

#[test]
fn of_what_is_wrong_the_first_is_kept_and_the_rest_is_counted() {
    let told = grid(&("a\n".to_owned() + &"\"x\"y\n".repeat(5_000))).expect_err("wrong");
    assert_eq!((told.shown.len(), told.count), (super::super::SHOWN, 5_000));
    assert_eq!((told.shown[0].line, told.shown[199].line), (2, 201));
}

#[test]
fn old_programs_write_windows_1252_and_workbooks_are_refused() {
    assert_eq!(decoded(b"Gr\xfcn \x80").as_deref(), Ok("Grün €"));
    assert_eq!(decoded("\u{feff}Grün".as_bytes()).as_deref(), Ok("Grün"));
    assert_eq!(decoded(b"\xff\xfea\0;\0b\0").as_deref(), Ok("a;b"));
    assert!(decoded(b"PK\x03\x04rest").is_err() && decoded(b"a\0b").is_err());
}
