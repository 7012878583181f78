//! `tailfan logbook`: the file itself.

use crate::cli::exit::Failure;
use crate::cli::exit::Outcome;
use crate::cli::output::Output;
use crate::texts;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::SessionError;
use crate::workflow::logbook::backups::backups_of;
use crate::workflow::logbook::holders::user;
use crate::workflow::logbook::importing::TakenIn;
use crate::workflow::logbook::last::last_logbook;
use crate::workflow::logbook::last::remember;
use clap::Subcommand;
use std::path::Path;
use std::path::PathBuf;

/// Make, look through, back up, export, import, merge or salvage a logbook
#[derive(Debug, clap::Args)]
pub(in crate::cli) struct Args {
    #[command(subcommand)]
    command: Command,
}

/// Which logbook.
#[derive(Debug, clap::Args)]
pub(in crate::cli) struct LogbookArg {
    /// The logbook; the one used last if not given
    #[arg(long, value_name = "FILE")]
    logbook: Option<PathBuf>,
}

impl LogbookArg {
    /// The file, if one was named.
    pub(in crate::cli) fn file(&self) -> Option<&Path> {
        self.logbook.as_deref()
    }

    /// The session over it, or over the one used last.
    pub(in crate::cli) fn session(&self) -> Result<Session, SessionError> {
        Session::open_or_last(self.file(), &user())
    }

    /// The file that is meant, whether it can be opened or not.
    fn meant(&self) -> Option<PathBuf> {
        self.logbook.clone().or_else(last_logbook)
    }
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Make a logbook where there is no file yet
    New {
        /// The file, such as farm.logbook
        file: PathBuf,
        /// Name of the farm
        #[arg(long, value_name = "NAME")]
        farm: String,
        /// The file lies in a folder that other machines share: use a rollback journal
        #[arg(long)]
        shared_folder: bool,
    },
    /// What is in it, who has it open, its backups
    Info {
        #[command(flatten)]
        logbook: LogbookArg,
    },
    /// Look through the whole file and its photos for damage
    Check {
        #[command(flatten)]
        logbook: LogbookArg,
    },
    /// Copy it beside itself, also while it is in use
    Backup {
        #[command(flatten)]
        logbook: LogbookArg,
    },
    /// Write everything as tables and photos into a new folder, or a zip file
    Export {
        /// The folder, or a file that ends in .zip
        to: PathBuf,
        #[command(flatten)]
        logbook: LogbookArg,
    },
    /// Take in what was exported; what is here already is left
    Import {
        /// The folder or zip file
        from: PathBuf,
        #[command(flatten)]
        logbook: LogbookArg,
    },
    /// Take in everything of another logbook; what is here already is left
    Merge {
        /// The other logbook, which is only read
        other: PathBuf,
        #[command(flatten)]
        logbook: LogbookArg,
    },
    /// Read what can be read of a damaged logbook into a new one
    Salvage {
        /// The damaged file, which is left as it is
        damaged: PathBuf,
        /// The new logbook
        #[arg(long, value_name = "FILE")]
        out: PathBuf,
    },
}

/// Does it and says what was done.
pub(in crate::cli) fn run(args: Args, output: &mut Output) -> Result<Outcome, Failure> {
    match args.command {
        Command::New {
            file,
            farm,
            shared_folder,
        } => new(&file, &farm, shared_folder, output),
        Command::Info { logbook } => info(&logbook.session()?, output),
        Command::Check { logbook } => check(&logbook, output),
        Command::Backup { logbook } => {
            let file = logbook.session()?.back_up("kept")?;
            output.line(&file.display().to_string())?;
            Ok(Outcome::Done)
        }
        Command::Export { to, logbook } => export(&to, &logbook.session()?, output),
        Command::Import { from, logbook } => {
            let taken = logbook.session()?.import(&from)?;
            report(&taken, output)
        }
        Command::Merge { other, logbook } => {
            let taken = logbook.session()?.merge(&other)?;
            report(&taken, output)
        }
        Command::Salvage { damaged, out } => salvage(&damaged, &out, output),
    }
}

fn new(file: &Path, farm: &str, shared: bool, output: &mut Output) -> Result<Outcome, Failure> {
    let session = if shared {
        Session::create_shared(file, farm, &user())?
    } else {
        Session::create(file, farm, &user())?
    };
    remember(file);
    if let Some(warning) = session.warning() {
        output.say(&warning)?;
    }
    output.line(&file.display().to_string())?;
    Ok(Outcome::Done)
}

fn info(session: &Session, output: &mut Output) -> Result<Outcome, Failure> {
    let info = session.info()?;
    output.line(&texts::logbook::farm(
        session.farm(),
        &session.file().display().to_string(),
    ))?;
    for (table, rows) in &info.rows {
        output.line(&format!("{rows:>9}  {}", texts::logbook::table(table)))?;
    }
    for (farm, id) in &info.origins {
        output.line(&texts::logbook::origin(farm, &id.to_string()))?;
    }
    for done in &info.upkeep {
        let at = done.at.date_and_hour();
        output.line(&texts::logbook::upkeep(
            &at,
            &done.kind,
            &done.detail,
            &done.by,
        ))?;
    }
    let backups = session.backups();
    let last = backups.last().map(|kept| kept.file.display().to_string());
    output.line(&texts::logbook::backups(backups.len(), last.as_deref()))?;
    for other in session.others() {
        output.line(&texts::logbook::open_too(&other))?;
    }
    if let Some(warning) = session.warning() {
        output.line(&warning)?;
    }
    Ok(Outcome::Done)
}

fn check(logbook: &LogbookArg, output: &mut Output) -> Result<Outcome, Failure> {
    let session = match logbook.session() {
        Ok(session) => session,
        Err(error) => {
            let file = logbook.meant().unwrap_or_default();
            let last = backups_of(&file).pop();
            let last = last.map(|kept| kept.file.display().to_string());
            let hint = texts::logbook::after_damage(&file.display().to_string(), last.as_deref());
            return Err(if error.is_of_the_file() {
                Failure::from(error).hint(hint)
            } else {
                Failure::from(error)
            });
        }
    };
    let found = session.check()?;
    let faults = found.file.damage.iter().chain(&found.file.dangling);
    for fault in faults.chain(&found.file.unreadable) {
        output.line(fault)?;
    }
    for fault in &found.photos {
        output.line(&fault.what)?;
    }
    let rows: u64 = found.file.rows.iter().map(|(_, rows)| rows).sum();
    output.line(&texts::logbook::checked(
        rows,
        found.file.is_well(),
        found.photos.len(),
    ))?;
    if !found.file.is_well() {
        let last = session.backups().pop();
        let last = last.map(|kept| kept.file.display().to_string());
        let file = session.file().display().to_string();
        output.say(&texts::logbook::after_damage(&file, last.as_deref()))?;
    }
    Ok(if found.file.is_well() && found.photos.is_empty() {
        Outcome::Done
    } else {
        Outcome::Refused
    })
}

fn export(to: &Path, session: &Session, output: &mut Output) -> Result<Outcome, Failure> {
    let exported = session.export(to)?;
    let place = exported.place.display().to_string();
    output.line(&texts::logbook::exported(
        exported.rows,
        exported.photos,
        &place,
    ))?;
    missing(&exported.photos_missing, output)
}

fn report(taken: &TakenIn, output: &mut Output) -> Result<Outcome, Failure> {
    let sum = taken.rows.total();
    output.line(&texts::logbook::taken(sum.new, sum.known, taken.photos))?;
    for (table, rows) in &taken.rows.tables {
        if rows.new > 0 {
            output.line(&format!(
                "{:>9}  {}",
                rows.new,
                texts::logbook::table(table)
            ))?;
        }
    }
    for name in &taken.rows.ponds_of_one_name {
        output.line(&texts::logbook::ponds_of_one_name(name))?;
    }
    if taken.rows.animals_with_rivals > 0 {
        output.line(&texts::logbook::rivals(taken.rows.animals_with_rivals))?;
    }
    output.line(&texts::logbook::backup_before(
        &taken.backup.display().to_string(),
    ))?;
    if sum.differing > 0 {
        output.line(&texts::logbook::differing(sum.differing))?;
        missing(&taken.photos_missing, output)?;
        return Ok(Outcome::Refused);
    }
    missing(&taken.photos_missing, output)
}

fn salvage(damaged: &Path, out: &Path, output: &mut Output) -> Result<Outcome, Failure> {
    let last = backups_of(damaged).pop();
    let last = last.map(|kept| kept.file.display().to_string());
    let (_, read) = Session::salvage(damaged, out, &user()).map_err(|error| {
        let hint = texts::logbook::other_ways(last.as_deref());
        Failure::from(error).hint(hint)
    })?;
    let rows: u64 = read.rows.rows.values().sum();
    output.line(&texts::logbook::salvaged(
        rows,
        read.photos,
        &out.display().to_string(),
    ))?;
    for table in &read.rows.broken {
        output.line(&texts::logbook::broken(texts::logbook::table(table)))?;
    }
    if read.rows.stand_ins + read.rows.emptied > 0 {
        output.line(&texts::logbook::stand_ins(
            read.rows.stand_ins,
            read.rows.emptied,
        ))?;
    }
    output.line(&texts::logbook::other_ways(last.as_deref()))?;
    missing(&read.photos_missing, output)?;
    Ok(if read.rows.broken.is_empty() {
        Outcome::Done
    } else {
        Outcome::Refused
    })
}

/// Names the photos that could not be found.
fn missing(photos: &[String], output: &mut Output) -> Result<Outcome, Failure> {
    for name in photos {
        output.line(&texts::logbook::photo_missing(name))?;
    }
    Ok(if photos.is_empty() {
        Outcome::Done
    } else {
        Outcome::Refused
    })
}
