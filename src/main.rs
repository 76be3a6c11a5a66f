//! The command line: serve, demo, health, let-in, bounced, book verify, calc. Thin.
#![forbid(unsafe_code)]

use clap::Parser;
use sandbucket::actions::returned_mail::{ReturnedRefusal, returned};
use sandbucket::app::App;
use sandbucket::calc::{Calculation, Wrong};
use sandbucket::clock::Clock;
use sandbucket::club::book::{chain::Head, digest::Digest};
use sandbucket::club::calendar::utc_typed;
use sandbucket::club::returned_mail;
use sandbucket::config::{self, BookVerb, Calc, CommandLine, LogFormat, Settings, Verb};
use sandbucket::store::Db;
use std::io::{IsTerminal, Read, Write};
use std::process::ExitCode;
use std::time::Duration;

/// How long it still takes new connections after SIGTERM while it says that it is not ready, so that whoever sends it
/// requests can look and send them elsewhere.
const NOTICE: Duration = Duration::from_secs(1);

/// How long requests that were accepted may take to finish after SIGTERM.
const DRAIN: Duration = Duration::from_secs(20);

fn main() -> ExitCode {
    let command = CommandLine::try_parse().unwrap_or_else(|error| stop_at_the_command_line(&error));
    if let Some(Verb::Calc { what }) = command.verb {
        return calculate(&what);
    }
    start_logging(command.settings.log);
    let outcome = match config::unknown_variable() {
        Some(name) => Err(format!("{name} is not a setting; see the README's table.").into()),
        None => run(command),
    };
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(stopped) => {
            eprintln!("sandbucket: {}", stopped.sentence);
            ExitCode::from(stopped.code)
        }
    }
}

/// Why it ends, and with which exit code.
struct Stopped {
    sentence: String,
    code: u8,
}

impl From<String> for Stopped {
    fn from(sentence: String) -> Self {
        Self { sentence, code: 1 }
    }
}

impl Stopped {
    /// As mail servers are told to keep a mail and try again (EX_TEMPFAIL of BSD's sysexits.h).
    const fn for_now(sentence: String) -> Self {
        Self { sentence, code: 75 }
    }
}

fn stop_at_the_command_line(error: &clap::Error) -> ! {
    if error.use_stderr() {
        let sentence = config::sentence_of(error);
        // Whoever reads JSON reads it then too.
        match calc_argument() {
            Some(argument) => say(&Wrong::with(argument, sentence).as_json().to_string()),
            None => eprintln!("sandbucket: {sentence}"),
        }
        std::process::exit(2);
    }
    error.exit()
}

/// Where a calculation is asked for: what of it can be wrong on the command line.
fn calc_argument() -> Option<&'static str> {
    let mut words = std::env::args().skip(1);
    let is_calc = words.next().is_some_and(|word| word == "calc");
    let is_schema = words.next().is_some_and(|word| word == "schema");
    is_calc.then_some(if is_schema { "name" } else { "calculation" })
}

/// Reads no setting and no database. What is wrong is JSON too, and exits with 2.
fn calculate(what: &Calc) -> ExitCode {
    let calculation = match what {
        Calc::ChargePlan => Calculation::ChargePlan,
        Calc::ChargeTime => Calculation::ChargeTime,
        Calc::Soc => Calculation::Soc,
        Calc::Verdict => Calculation::Verdict,
        Calc::Schema { name } => {
            say(&format!("{:#}", name.schema()));
            return ExitCode::SUCCESS;
        }
    };
    let mut given = Vec::new();
    let told = match std::io::stdin().lock().read_to_end(&mut given) {
        Ok(_) => calculation.answer(&given),
        Err(error) => Err(Wrong::unread(&error)),
    };
    match told {
        Ok(told) => {
            say(&told.to_string());
            ExitCode::SUCCESS
        }
        Err(wrong) => {
            say(&wrong.as_json().to_string());
            ExitCode::from(2)
        }
    }
}

/// To a reader that may have gone away with what it wanted, as `head` does.
fn say(told: &str) {
    writeln!(std::io::stdout(), "{told}").ok();
}

fn start_logging(format: LogFormat) {
    let filter = tracing_subscriber::EnvFilter::new("info,sqlx=warn");
    let lines = tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_ansi(std::io::stderr().is_terminal())
        .with_writer(std::io::stderr);
    match format {
        LogFormat::Text => lines.init(),
        LogFormat::Json => lines.json().init(),
    }
}

fn run(command: CommandLine) -> Result<(), Stopped> {
    let runtime = tokio::runtime::Runtime::new().map_err(|error| error.to_string())?;
    let settings = command.settings;
    runtime.block_on(async move {
        match command.verb.unwrap_or(Verb::Serve) {
            Verb::Bounced => return bounced(&settings).await,
            Verb::Serve => serve(settings).await,
            Verb::Demo => demo(&settings).await,
            Verb::Health => health(&settings).await,
            Verb::LetIn { sign_in } => let_in(&settings, &sign_in).await,
            Verb::Book { what } => verify_book(&settings, what).await,
            Verb::Calc { .. } => Ok(()),
        }
        .map_err(Stopped::from)
    })
}

async fn open(settings: &Settings) -> Result<Db, String> {
    if settings.database_url == config::DEFAULT_DATABASE_URL {
        std::fs::create_dir_all("data")
            .map_err(|error| format!("the folder data can't be made: {error}."))?;
    }
    Db::open(&settings.database_url, settings.may_create_database())
        .await
        .map_err(|error| {
            let hint = if settings.is_database_a_file() {
                " (A new SQLite file at a place of your own: --create-database.)"
            } else {
                ""
            };
            format!("the database could not be opened: {error}.{hint}")
        })
}

/// Fills an empty database with the demo club, and prints how to sign in.
async fn demo(settings: &Settings) -> Result<(), String> {
    let db = open(settings).await?;
    let hasher = sandbucket::actions::passwords::Hasher::new();
    let (now, base) = (Clock::System.now(), settings.public_base());
    let started = sandbucket::actions::demo::start(&db, &hasher, (now, &base)).await;
    db.close().await;
    let sign_ins = started.map_err(|refusal| refusal.to_string())?;
    println!("The demo club is there. Its sign-ins, shown once:");
    for each in sign_ins {
        let (role, sign_in) = (each.role.label(), each.sign_in);
        println!("  {role:<14} {sign_in:<8} {}", each.password);
    }
    println!(
        "Now start sandbucket and sign in at {}",
        settings.public_base()
    );
    Ok(())
}

/// Reads the whole incident book, or a file that it was given away as; what does not hold is a failure.
async fn verify_book(settings: &Settings, what: BookVerb) -> Result<(), String> {
    let BookVerb::Verify {
        number,
        seal,
        time,
        file,
    } = what;
    let printed: Vec<Head> = printed_end(number, seal, time)?.into_iter().collect();
    if let Some(file) = file {
        return verify_file(&file, &printed);
    }
    let db = Db::open(&settings.database_url, false)
        .await
        .map_err(|error| format!("the database could not be opened: {error}."))?;
    let found = sandbucket::actions::book::verify(&db, &printed).await;
    db.close().await;
    let head = found.map_err(|error| error.to_string())?;
    let head = head.map_err(|broken| not_holding(&broken, broken.is_mistype()))?;
    println!("The incident book holds: {} entries.", head.count);
    println!("Its end: {} {} {}", head.count, head.hash, head.time());
    Ok(())
}

fn not_holding(broken: &impl std::fmt::Display, is_mistype: bool) -> String {
    if is_mistype {
        format!("the incident book holds, but what was typed is no end of it. {broken}")
    } else {
        format!("the incident book does not hold. {broken}")
    }
}

fn printed_end(
    number: Option<i64>,
    seal: Option<String>,
    time: Option<String>,
) -> Result<Option<Head>, String> {
    let (Some(count), Some(seal)) = (number, seal) else {
        return Ok(None);
    };
    if count < 1 {
        return Err("the number of a printed entry is 1 or more.".to_owned());
    }
    let hash = Digest::typed(&seal).map_err(|wrong| wrong.to_string())?;
    let at =
        time.map(|time| utc_typed(&time).ok_or("the time is typed like 2026-11-27T21:40:05Z."));
    let at_ms = at.transpose()?.map_or(0, |at| at.ms());
    Ok(Some(Head { count, hash, at_ms }))
}

fn verify_file(file: &std::path::Path, printed: &[Head]) -> Result<(), String> {
    let bytes = std::fs::read(file).map_err(|error| format!("the file can't be read: {error}."))?;
    let found = sandbucket::paper::bundle::check(&bytes, printed).map_err(|broken| {
        if bytes.starts_with(b"PK") || bytes.starts_with(b"{") {
            not_holding(&broken, broken.is_mistype())
        } else {
            "that file is no export of the incident book: give it the zip, or the JSON out of it."
                .to_owned()
        }
    })?;
    match &found.incident {
        None => println!("The incident book holds: {} entries.", found.entries),
        Some(incident) => println!(
            "Each of the {} entries of {incident} is whole in itself. Entries between them are not here: that none is \
             missing or rewritten is seen in the whole book.",
            found.entries
        ),
    }
    match found.files {
        Some(files) => println!("Photos and files: {files}, each as it was."),
        None => println!("Photos and files were not looked at: give it the zip."),
    }
    let not_compared = found.not_compared;
    for number in &not_compared {
        println!("Nothing can be said of the printed entry {number}: it is not among these.");
    }
    if found.has_other_page {
        println!("The page check.html in it is not this program's: don't believe what it says.");
    }
    let head = found.head;
    println!("Its end: {} {} {}", head.count, head.hash, head.time());
    if printed.len() > not_compared.len() || printed.is_empty() {
        return Ok(());
    }
    Err("what was printed could not be compared: check it against the whole book.".to_owned())
}

async fn serve(settings: Settings) -> Result<(), String> {
    if settings.is_mail_laid_open() {
        return Err("mail would travel unencrypted to another machine: write smtps:// or ?tls=required, or say --smtp-plain.".to_owned());
    }
    let db = open(&settings).await?;
    let listener = tokio::net::TcpListener::bind(settings.listen)
        .await
        .map_err(|error| format!("{} can't be listened on: {error}.", settings.listen))?;
    let address = listener.local_addr().map_err(|error| error.to_string())?;
    let app = App::new(db.clone(), Clock::System, settings.clone());
    println!("Sandbucket serves on http://{address}");
    if settings.is_reached_by_any_name() {
        println!(
            "Phones and other computers reach it by this machine's name or address, with port {}.",
            address.port()
        );
    }
    if sandbucket::actions::set_up::is_new(&db)
        .await
        .map_err(|error| error.to_string())?
    {
        println!("{}", app.set_up_words());
    }
    let sweeper = tokio::spawn(sandbucket::tasks::sweep::keep_sweeping(app.clone()));
    let reminder = tokio::spawn(sandbucket::tasks::remind::keep_reminding(app.clone()));
    let router = app
        .router()
        .into_make_service_with_connect_info::<std::net::SocketAddr>();
    let served = axum::serve(listener, router).with_graceful_shutdown(told_to_stop(app.clone()));
    let drained = tokio::select! {
        outcome = served.into_future() => outcome.map_err(|error| error.to_string()),
        () = late(app.clone()) => Ok(()),
    };
    sweeper.abort();
    reminder.abort();
    db.close().await;
    drained
}

/// Never makes a database: somebody who is to be let in is in one that exists.
async fn let_in(settings: &Settings, sign_in: &str) -> Result<(), String> {
    let db = Db::open(&settings.database_url, false)
        .await
        .map_err(|error| format!("the database could not be opened: {error}."))?;
    let made = sandbucket::actions::links::let_in(&db, sign_in, Clock::System.now()).await;
    db.close().await;
    let token = made.map_err(|refusal| refusal.to_string())?;
    if settings.is_reached_from_here_only() {
        let base = settings.public_base();
        eprintln!(
            "sandbucket: the link begins with {base}, which only this machine reaches: give let-in the --public-url or --listen that the server has."
        );
    }
    println!("This link lets {sign_in} choose a new password. It works once, for an hour:");
    println!("{}/reset/{token}", settings.public_base());
    Ok(())
}

/// Reads a returned mail, and notes whose address does not work. What is said goes back to whom the mail server answers: it names nobody.
async fn bounced(settings: &Settings) -> Result<(), Stopped> {
    let mut mail = Vec::new();
    let most = returned_mail::MOST_BYTES as u64 + 1;
    let read = std::io::stdin().lock().take(most).read_to_end(&mut mail);
    read.map_err(|error| Stopped::for_now(format!("the mail can't be read: {error}.")))?;
    let notice = returned_mail::read(&mail).map_err(|wrong| wrong.to_string())?;
    let opened = Db::open(&settings.database_url, false).await;
    let db = opened
        .map_err(|error| Stopped::for_now(format!("the database could not be opened: {error}.")))?;
    let outcome = returned(&db, &notice, Clock::System.now()).await;
    db.close().await;
    let told = outcome.map_err(|refusal| match refusal {
        ReturnedRefusal::NotOurs => Stopped::from(refusal.to_string()),
        ReturnedRefusal::Store(error) => Stopped::for_now(format!("{error}.")),
    })?;
    println!("{told}");
    Ok(())
}

/// Readiness goes first; then no new connections, and the accepted ones finish. Nobody waits for a Ctrl-C.
async fn told_to_stop(app: App) {
    use tokio::signal::unix::{SignalKind, signal};
    let (Ok(mut term), Ok(mut int)) = (
        signal(SignalKind::terminate()),
        signal(SignalKind::interrupt()),
    ) else {
        return std::future::pending().await;
    };
    let notice = tokio::select! { _ = term.recv() => NOTICE, _ = int.recv() => Duration::ZERO };
    app.start_draining();
    tracing::info!("told to stop: finishing what was accepted");
    tokio::time::sleep(notice).await;
}

async fn late(app: App) {
    while !app.is_draining() {
        tokio::time::sleep(Duration::from_secs(1)).await;
    }
    tokio::time::sleep(DRAIN).await;
}

async fn health(settings: &Settings) -> Result<(), String> {
    use tokio::io::{AsyncReadExt, AsyncWriteExt};
    let asked = async {
        let mut stream = tokio::net::TcpStream::connect(settings.listen).await?;
        let request = format!(
            "GET /health/ready HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n",
            settings.listen
        );
        stream.write_all(request.as_bytes()).await?;
        let mut answer = String::new();
        stream.read_to_string(&mut answer).await?;
        Ok::<_, std::io::Error>(answer.starts_with("HTTP/1.1 200"))
    };
    match tokio::time::timeout(Duration::from_secs(3), asked).await {
        Ok(Ok(true)) => Ok(()),
        _ => Err("the server is not ready.".to_owned()),
    }
}
