//! The options that set groups, limits and confidence.

use crate::moult::Stage;
use crate::moult::UnknownStage;
use crate::tally::Catch;
use crate::tally::Settings;
use crate::units::Probability;
use crate::units::UnitError;
use clap::Args;
use std::collections::BTreeSet;
use thiserror::Error;

/// Groups, limits and confidence, each optional.
#[derive(Debug, Args)]
pub(in crate::cli) struct LimitArgs {
    /// The soft share must stay below this
    #[arg(long, value_name = "PERCENT", value_parser = percent)]
    soft_limit: Option<Probability>,
    /// The moulting share must stay below this
    #[arg(long, value_name = "PERCENT", value_parser = percent)]
    moulting_limit: Option<Probability>,
    /// The share of due animals (D2 to D4) must stay below this
    #[arg(long, value_name = "PERCENT", value_parser = percent)]
    due_limit: Option<Probability>,
    /// How sure an answer must be
    #[arg(long, value_name = "PERCENT", value_parser = confidence)]
    confidence: Option<Probability>,
    /// How many animals of a netting tell as much as one drawn by itself; 1 if not given
    #[arg(long, value_name = "NUMBER")]
    design_effect: Option<f64>,
    /// The animals came from feed trays: such a sample warns and never clears
    #[arg(long)]
    feed_tray: bool,
    /// Many shed shells were seen
    #[arg(long)]
    shed_shells: bool,
    /// Stages that count as soft
    #[arg(long, value_name = "STAGES", value_delimiter = ',', value_parser = stage)]
    soft_stages: Option<Vec<Stage>>,
    /// Stages that count as moulting
    #[arg(long, value_name = "STAGES", value_delimiter = ',', value_parser = stage)]
    moulting_stages: Option<Vec<Stage>>,
    /// Stages that count as due to moult
    #[arg(long, value_name = "STAGES", value_delimiter = ',', value_parser = stage)]
    due_stages: Option<Vec<Stage>>,
}

impl LimitArgs {
    /// The settings, defaults filled in.
    pub(in crate::cli) fn settings(self) -> Settings {
        let usual = Settings::default();
        let group = |given: Option<Vec<Stage>>, usual: BTreeSet<Stage>| {
            given.map_or(usual, |stages| stages.into_iter().collect())
        };
        Settings {
            soft: group(self.soft_stages, usual.soft),
            rigid_after: None,
            moulting: group(self.moulting_stages, usual.moulting),
            due: group(self.due_stages, usual.due),
            soft_limit: self.soft_limit.unwrap_or(usual.soft_limit),
            moulting_limit: self.moulting_limit.unwrap_or(usual.moulting_limit),
            due_limit: self.due_limit.unwrap_or(usual.due_limit),
            confidence: self.confidence.unwrap_or(usual.confidence),
            design_effect: self.design_effect.unwrap_or(usual.design_effect),
            catch: if self.feed_tray {
                Catch::FeedTray
            } else {
                Catch::Net
            },
            many_shed_shells: self.shed_shells,
            intervals: usual.intervals,
        }
    }
}

#[derive(Debug, Error)]
pub(in crate::cli) enum PercentError {
    #[error("\"{given}\" is no number of percent: write 10 for 10 %")]
    NoNumber {
        given: String,
        source: std::num::ParseFloatError,
    },
    #[error("{value} % is no share: use 0 to 100")]
    OutOfRange { value: f64, source: UnitError },
    #[error("{0} % is no confidence to test at: use 50 or more and less than 100, such as 90")]
    Confidence(f64),
}

/// A share given in percent.
pub(in crate::cli) fn percent(text: &str) -> Result<Probability, PercentError> {
    let bare = text.trim().trim_end_matches('%').trim_end();
    let value: f64 = bare.parse().map_err(|source| {
        let given = text.to_owned();
        PercentError::NoNumber { given, source }
    })?;
    Probability::new(value / 100.0).map_err(|source| PercentError::OutOfRange { value, source })
}

/// A confidence in percent, or as the share it is in JSON: 90 and 0.9 are the same.
pub(in crate::cli) fn confidence(text: &str) -> Result<Probability, PercentError> {
    let given = percent(text)?.get();
    let share = if (0.005..0.01).contains(&given) {
        given * 100.0
    } else {
        given
    };
    if (0.5..1.0).contains(&share) {
        Ok(Probability::clamped(share))
    } else {
        Err(PercentError::Confidence(given * 100.0))
    }
}

fn stage(text: &str) -> Result<Stage, UnknownStage> {
    text.parse()
}
