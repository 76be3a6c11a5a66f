//! What a person is told of a log that was brought in: beside it, or why it is not taken.

use super::fields::Field;
use crate::battery::log::LogProblem;
use crate::club::sheet::Trouble;
use crate::club::typed_numbers::counted;
use std::fmt;

/// What a person is told beside the log. The Display is the sentence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Note {
    EndsEarly {
        line: usize,
    },
    NoLineEnd,
    LeftOut {
        heading: String,
        line: usize,
        found: String,
    },
    Runs {
        count: usize,
    },
}

impl fmt::Display for Note {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::EndsEarly { line } => write!(
                f,
                "The file ends in the middle of line {line}. That line was left out; there may have been more."
            ),
            Self::NoLineEnd => f.write_str(
                "The last line has no line end. If the file was cut off there, its last number is cut as well.",
            ),
            Self::LeftOut { heading, line, found } => write!(
                f,
                "Column “{heading}” was left out: in line {line} '{found}' is no number that fits."
            ),
            Self::Runs { count } => write!(
                f,
                "The time begins anew within the file: it holds {}, one after the other.",
                counted(*count, "log", "logs")
            ),
        }
    }
}

/// Why a file is not taken. The Display is the sentence.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LogFileProblem {
    #[error(
        "A log has at most 10 MB; this file has {megabytes:.1} MB. Save fewer readings a minute, or bring it in in parts."
    )]
    TooLarge { megabytes: f64 },
    #[error(
        "A log has at most 50,000 rows below its headings; this one has {rows}. Save fewer readings a minute, or bring it in in parts."
    )]
    TooManyRows { rows: usize },
    #[error("{0}")]
    NotText(&'static str),
    #[error("There is nothing in this file.")]
    Empty,
    #[error("Below the headings in line {line} stands nothing.")]
    NothingBelow { line: usize },
    #[error("{0}")]
    NotSplit(Trouble),
    #[error("{}", missing_words(.missing, .headings))]
    ColumnsMissing {
        missing: Vec<Field>,
        headings: Vec<String>,
    },
    #[error("Both “{first}” and “{second}” are taken for {}. Choose one.", .field.words())]
    Twice {
        field: Field,
        first: String,
        second: String,
    },
    #[error("No column of this file is called “{heading}”.")]
    NoSuchColumn { heading: String },
    #[error("Column “{heading}” can't have {} in that unit.", .field.words())]
    WrongUnit { heading: String, field: Field },
    #[error("Line {line}, column “{heading}”: {}", not_a_number_words(.found))]
    NotANumber {
        line: usize,
        heading: String,
        found: String,
    },
    #[error(
        "Line {line}, column “{heading}”: '{found}' has another decimal mark than the numbers before. Write all with a point or all with a comma, none between thousands."
    )]
    TwoMarks {
        line: usize,
        heading: String,
        found: String,
    },
    #[error(
        "Line {line} has more cells than there are headings. Is a decimal comma in it, without quotation marks?"
    )]
    TooWide { line: usize },
    #[error("Line {line}: {problem}")]
    Log { line: usize, problem: LogProblem },
    #[error(
        "The time begins anew {times} times. Is that the time of each step? Choose the column with the time of the whole test."
    )]
    TooManyRuns { times: usize },
}

fn missing_words(missing: &[Field], headings: &[String]) -> String {
    let wanted: Vec<String> = missing
        .iter()
        .map(|field| format!("{} (“{}”)", field.words(), field.label()))
        .collect();
    let there: Vec<String> = headings
        .iter()
        .map(|heading| format!("“{heading}”"))
        .collect();
    format!(
        "No column is plainly {}. Say which it is, and its unit: the file has {}.",
        wanted.join(" or "),
        there.join(", ")
    )
}

fn not_a_number_words(found: &str) -> String {
    if found.is_empty() {
        "nothing stands here. A number is needed.".to_owned()
    } else {
        format!("'{found}' is no number.")
    }
}
