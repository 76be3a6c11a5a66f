//! A log's file on its way in: what somebody chose about it, and what it would come to. Where its columns, which of its logs,
//! or the sign of its current are not plain, that is asked; nothing is guessed that the log does not tell.

use super::points::{self, Point};
use super::{ChargeLog, PULSE_SECOND, PULSE_SECONDS, doubts};
use crate::battery::log::Recorded;
use crate::battery::log::current_sign::{CurrentSign, SignUnclear};
use crate::battery::pack::Build;
use crate::club::log_file::columns::{Column, Pair};
use crate::club::log_file::fields::Field;
use crate::club::log_file::units::Unit;
use crate::club::log_file::words::LogFileProblem;
use crate::club::log_file::{columns, read};
use serde::{Deserialize, Serialize};

#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Choices {
    /// Empty: as names and plain words say.
    pub columns: Vec<ChosenColumn>,
    /// Which of the logs in the file; the first is 0.
    pub run: Option<usize>,
    /// A code of [`CurrentSign`].
    pub sign: Option<String>,
    pub pulse_second: Option<u8>,
    /// `YYYY-MM-DD`, as told.
    pub logged_on: Option<String>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ChosenColumn {
    pub heading: String,
    /// As [`code_of`] writes it.
    pub ours: String,
}

/// `voltage_volt mV`; empty: the column is left out.
pub fn code_of(ours: Option<(Field, Unit)>) -> String {
    ours.map_or_else(String::new, |(field, unit)| {
        format!("{} {}", field.code(), unit.label())
    })
}

fn meant(code: &str) -> Option<(Field, Unit)> {
    let (field, unit) = code.split_once(' ')?;
    Some((Field::from_code(field)?, Unit::from_label(unit)?))
}

impl Choices {
    fn pairs(&self) -> Vec<Pair> {
        let pair = |chosen: &ChosenColumn| Pair {
            theirs: chosen.heading.clone(),
            ours: meant(&chosen.ours),
        };
        self.columns.iter().map(pair).collect()
    }

    pub fn sign(&self) -> Option<CurrentSign> {
        self.sign.as_deref().and_then(CurrentSign::from_code)
    }

    pub fn pulse_second(&self) -> u8 {
        let offered = self
            .pulse_second
            .filter(|second| PULSE_SECONDS.contains(second));
        offered.unwrap_or(PULSE_SECOND)
    }
}

/// One of the logs in a file, to be told from the others.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    pub rows: usize,
    pub seconds: f64,
    pub from_v: f64,
    pub to_v: f64,
}

pub struct ReadBack {
    pub columns: Vec<Column>,
    pub runs: Vec<Run>,
    /// The log itself does not tell it: why it is asked.
    pub sign_asked: Option<SignUnclear>,
    pub stage: Stage,
}

/// How far it got.
pub enum Stage {
    /// Its columns or cells are to be put right.
    Unreadable(LogFileProblem),
    WhichRun,
    WhichSign,
    Ready(Box<Ready>),
}

/// What would be kept.
#[derive(Clone, Debug, PartialEq)]
pub struct Ready {
    pub run: usize,
    /// The file holds no other.
    pub is_only: bool,
    pub sign: CurrentSign,
    /// Why it looks like another pack's: then that it is this one's is said before it is stored. Empty: it does not.
    pub doubted: Vec<String>,
    pub log: ChargeLog,
    pub points: Vec<Point>,
}

/// A file that is no table at all, or whose columns can't be as chosen.
pub fn check(bytes: &[u8], choices: &Choices) -> Result<Vec<Column>, LogFileProblem> {
    columns(bytes, &choices.pairs())
}

pub fn read_back(bytes: &[u8], choices: &Choices, build: &Build) -> ReadBack {
    let pairs = choices.pairs();
    let file = match read(bytes, &pairs) {
        Ok(file) => file,
        Err(problem) => {
            return ReadBack {
                columns: columns(bytes, &pairs)
                    .or_else(|_| columns(bytes, &[]))
                    .unwrap_or_default(),
                runs: Vec::new(),
                sign_asked: None,
                stage: Stage::Unreadable(problem),
            };
        }
    };
    let runs: Vec<Run> = file.runs.iter().map(run_told).collect();
    let is_only = runs.len() == 1;
    let at = if is_only { Some(0) } else { choices.run };
    let recorded = at.and_then(|at| Some((at, file.runs.into_iter().nth(at)?)));
    let (sign_asked, stage) = match recorded {
        None => (None, Stage::WhichRun),
        Some((run, recorded)) => {
            let told = recorded.sign();
            let asked = told.err();
            let stage = match told.ok().or_else(|| choices.sign()) {
                None => Stage::WhichSign,
                Some(sign) => {
                    let log = recorded.with_sign(sign);
                    let second = choices.pulse_second();
                    Stage::Ready(Box::new(Ready {
                        run,
                        is_only,
                        sign,
                        points: points::of(&log),
                        doubted: doubts::of_another(&log, build),
                        log: ChargeLog::of(&log, build, second, &file.notes),
                    }))
                }
            };
            (asked, stage)
        }
    };
    ReadBack {
        columns: file.columns,
        runs,
        sign_asked,
        stage,
    }
}

fn run_told(run: &Recorded) -> Run {
    let (first, last) = (run.samples().first(), run.samples().last());
    let between = first.zip(last);
    Run {
        rows: run.samples().len(),
        seconds: between.map_or(0.0, |(first, last)| last.seconds - first.seconds),
        from_v: first.map_or(0.0, |first| first.volts),
        to_v: last.map_or(0.0, |last| last.volts),
    }
}
