//! Files that are tried on the page.
//!
//! Must not know how a file is read or judged (`trial`); `said` has the sentences. Start reading at the [`web::Trials`] of
//! [`PageDesk`].

mod received;
mod said;

use std::sync::Arc;

use chrono_tz::Tz;
use digest::Clock;
use model::ShopId;
use tokio::sync::OwnedSemaphorePermit;
use web::view::{
    Board, Moment, OwnAsides, QueueAsked, TrialBadRow, TrialBrief, TrialFindings, TrialJudged, TrialKept,
    Words,
};
use web::{Answer, Desk, Fault, LEAVE_OUT, Receiving, Round, Shop, Trials, view};

use super::PageDesk;
use crate::trial::{self, Deadline, Found, Not, Places, Read, Said, Trial};
use received::Received;

fn refused(not: Not) -> Fault {
    Fault::Refused { why: not.why, todo: not.todo }
}

fn no_trial() -> Fault {
    Fault::NotThere {
        what: "there is no such trial: its files were deleted, or never came".to_owned(),
        todo: "give the files again".to_owned(),
    }
}

impl PageDesk {
    fn trial_of(&self, id: &str) -> Result<Arc<Trial>, Fault> {
        self.trials.get(id, self.now()).ok_or_else(no_trial)
    }

    /// The zone of the first shop.
    fn usual_zone(&self) -> Tz {
        self.shops.values().next().map_or(Tz::UTC, |settings| settings.zone)
    }

    /// Deletes the files of all trials.
    pub fn end_trials(&self) {
        self.trials.end_all();
    }

    /// Works on a trial, alone, and no longer than a trial is worked on. Where it takes longer, the trial is deleted; what is
    /// under way ends at its next step, and nothing else is begun before.
    async fn work<T: Send + 'static>(
        &self,
        trial: &Arc<Trial>,
        work: impl FnOnce(&Trial, Deadline) -> Result<T, Not> + Send + 'static,
    ) -> Result<T, Fault> {
        let deadline = Deadline::after(self.trials.worked_for);
        let own = Arc::clone(trial);
        let alone = Arc::clone(&self.trials.alone);
        let working = async {
            let alone: OwnedSemaphorePermit = alone.acquire_owned().await.map_err(|_| ended())?;
            let done = tokio::task::spawn_blocking(move || {
                let _alone = alone;
                deadline.check().and_then(|()| work(&own, deadline))
            });
            done.await.map_err(|_| ended())?.map_err(refused)
        };
        let passed = || refused(Deadline::passed());
        let done = tokio::time::timeout(self.trials.worked_for, working).await;
        let done = done.unwrap_or_else(|_| Err(passed()));
        if done.as_ref().err() == Some(&passed()) {
            self.trials.end(&trial.id);
        }
        done
    }

    /// How the files are read, and after how much that was said.
    async fn read_trial(&self, trial: &Arc<Trial>) -> Result<(u64, Arc<Read>), Fault> {
        let (shown, said, read) = {
            let state = trial.state();
            (state.shown, state.said.clone(), state.read.clone())
        };
        if let Some(read) = read {
            return Ok((shown, read));
        }
        let rows = self.trials.limits.rows;
        let read = self.work(trial, move |trial, deadline| Read::of(trial, &said, rows, deadline)).await;
        let read = read.inspect_err(|_| {
            // Of files that cannot be read nothing is kept.
            if shown == 0 {
                self.trials.end(&trial.id);
            }
        })?;
        let read = Arc::new(read);
        let mut state = trial.state();
        if state.shown == shown {
            state.read = Some(Arc::clone(&read));
        }
        Ok((shown, read))
    }

    async fn found_in(&self, trial: &Arc<Trial>) -> Result<Arc<Found>, Fault> {
        let (shown, read) = self.read_trial(trial).await?;
        let (found, leaves_out) = {
            let state = trial.state();
            (state.found.clone(), state.leaves_out)
        };
        if let Some(found) = found {
            return Ok(found);
        }
        let as_of = trial.as_of.unwrap_or_else(|| self.now());
        let found = self
            .work(trial, move |trial, deadline| Found::of(trial, &read, leaves_out, as_of, deadline))
            .await?;
        let found = Arc::new(found);
        let mut state = trial.state();
        if (state.shown, state.leaves_out) == (shown, leaves_out) {
            state.found = Some(Arc::clone(&found));
        }
        Ok(found)
    }

    async fn trial_view(&self, id: &str) -> Result<Arc<view::Trial>, Fault> {
        let trial = self.trial_of(id)?;
        let (shown, read) = self.read_trial(&trial).await?;
        let now = self.now();
        let clock = Clock::of_a_reader(self.usual_zone(), now);
        let (used_at, kept) = {
            let state = trial.state();
            (state.used_at, state.kept.clone())
        };
        let (points, points_in_all) = said::points(&read);
        let sources = trial.sides.iter().zip(&read.sources).enumerate();
        Ok(Arc::new(view::Trial {
            trial: trial.id.clone(),
            shown,
            ends: Moment::new(self.trials.ends(used_at), &clock),
            zone: trial.zone.name(),
            as_of: trial.as_of.map(|at| Moment::new(at, &Clock::of_a_reader(trial.zone, at))),
            points,
            points_in_all,
            sources: sources.map(|(number, (side, source))| said::source(number, side, source)).collect(),
            can_be_judged: read.judged_by.is_ok(),
            not_judged: read.judged_by.as_ref().err().map(|not| Words::ours(format!("{}.", not.why))),
            kept,
        }))
    }

    async fn findings_of(&self, id: &str, asked: &QueueAsked) -> Result<TrialFindings, Fault> {
        let trial = self.trial_of(id)?;
        let found = self.found_in(&trial).await?;
        // Told as of the moment for which it is judged: what was left then.
        let clock = Clock::of_a_reader(trial.zone, found.as_of);
        let shop = Shop { id: ShopId::new("files"), zone: trial.zone };
        let bad_rows = found.bad_rows.iter().map(|row| TrialBadRow {
            place: Words::ours(trial.named(&row.place())),
            fault: Words::ours(format!("{}; expected {}", row.found, row.expected)),
            hint: Words::ours(&row.hint),
        });
        let judged = found.outcome.as_ref().map(|outcome| {
            let round = Round {
                shop: shop.clone(),
                judged_at: found.as_of,
                outcome: outcome.clone(),
                sources: Vec::new(),
            };
            let board = Board::of(Arc::new(round), OwnAsides::new(), found.as_of);
            let mut queue = view::queue(std::slice::from_ref(&shop), &[Arc::new(board)], asked, found.as_of);
            // The orders of a trial have no pages.
            for concerned in queue.tasks.iter_mut().flat_map(|task| &mut task.concerned) {
                concerned.page = None;
            }
            // What the command line says of its arguments stands in the form here.
            let of_form = |text: &str| {
                text.replace(
                    "set the moment with --as-of",
                    "say under “Times”, where you give them, of which day they are",
                )
            };
            let notices =
                outcome.notices.iter().map(|notice| Words::ours(of_form(&trial.named(&notice.text))));
            TrialJudged {
                totals: outcome.totals,
                notices: notices.collect(),
                rows_skipped: outcome.rows_skipped,
                orders_not_judged: outcome.not_judged.len() as u64,
                queue,
            }
        });
        Ok(TrialFindings {
            trial: trial.id.clone(),
            as_of: Moment::new(found.as_of, &clock),
            zone: trial.zone.name(),
            rows_read: found.rows_read,
            bad_rows: bad_rows.collect(),
            bad_rows_in_all: found.bad_row_count,
            judged,
        })
    }

    async fn answered(&self, id: &str, shown: u64, answers: &[String]) -> Result<(), Fault> {
        let trial = self.trial_of(id)?;
        let (now, read) = self.read_trial(&trial).await?;
        if now != shown {
            return Err(Fault::Meanwhile {
                why:
                    "nothing was taken: the files are read in another way meanwhile than what you were shown"
                        .to_owned(),
                todo: "go back to how the files are read, load it anew, and say it again".to_owned(),
            });
        }
        let mut said: Vec<Said> = trial.state().said.clone();
        let mut leaves_out = false;
        for answer in answers {
            if answer == LEAVE_OUT {
                leaves_out = true;
                continue;
            }
            said::take(&read, answer, &mut said).ok_or_else(|| Fault::Refused {
                why: format!("{:?} is nothing that was to be chosen", digest::cut(answer.as_str(), 40)),
                todo: "go back to how the files are read, and choose from the lists".to_owned(),
            })?;
        }
        let mut state = trial.state();
        if state.shown != shown {
            return Err(Fault::Meanwhile {
                why: "nothing was taken: somebody said something else at the same moment".to_owned(),
                todo: "go back to how the files are read, and load it anew".to_owned(),
            });
        }
        state.shown += 1;
        state.said = said;
        state.found = None;
        // How the files are read is looked at again only where something was said of it.
        if answers.iter().any(|answer| answer != LEAVE_OUT) {
            state.read = None;
            state.kept = None;
            leaves_out = false;
        }
        state.leaves_out = leaves_out;
        Ok(())
    }

    async fn kept(&self, id: &str, shop: &ShopId) -> Result<TrialKept, Fault> {
        let trial = self.trial_of(id)?;
        let (_, read) = self.read_trial(&trial).await?;
        if let Some(kept) = trial.state().kept.clone() {
            return Ok(kept);
        }
        let (configuration, ledger) = (self.file.clone(), self.ledger_at.clone());
        let (shop, several) = (shop.clone(), self.shops.len() > 1);
        let kept = self
            .work(&trial, move |trial, _| {
                let places =
                    Places { configuration: &configuration, ledger: &ledger, shop: (shop.as_str(), several) };
                trial::keep(trial, &read, &places)
            })
            .await?;
        trial.state().kept = Some(kept.clone());
        Ok(kept)
    }
}

fn ended() -> Fault {
    Fault::Trouble { why: "the files could not be looked at".to_owned() }
}

impl Trials for PageDesk {
    fn trials(&self) -> Answer<'_, view::Trials> {
        Box::pin(async {
            let now = self.now();
            let zone = self.usual_zone();
            let clock = Clock::of_a_reader(zone, now);
            let brief = |trial: Arc<Trial>| TrialBrief {
                trial: trial.id.clone(),
                begun: Moment::new(trial.begun_at, &clock),
                ends: Moment::new(self.trials.ends(trial.state().used_at), &clock),
                files: trial
                    .sides
                    .iter()
                    .flat_map(|side| &side.files)
                    .map(|file| Words::outside(&file.name))
                    .collect(),
            };
            let trials = self.trials.under_way(now).into_iter().map(brief).collect();
            Ok(view::Trials { limits: self.trials.limits, zone: zone.name(), trials })
        })
    }

    fn begin_trial(&self) -> Answer<'_, Box<dyn Receiving>> {
        Box::pin(async {
            let id = web::new_trial_id()?;
            let (folder, place) = self.trials.begin(&id, self.now()).map_err(refused)?;
            let used = self.shops.values().flat_map(|settings| settings.sources.keys());
            let receiving = Received {
                trials: Arc::clone(&self.trials),
                world: Arc::clone(&self.world),
                zone: self.usual_zone(),
                used: used.map(|source| source.as_str().to_owned()).collect(),
                id,
                folder,
                _place: place,
                sides: Vec::new(),
                files: 0,
                bytes: 0,
            };
            Ok(Box::new(receiving) as Box<dyn Receiving>)
        })
    }

    fn trial<'a>(&'a self, trial: &'a str) -> Answer<'a, Arc<view::Trial>> {
        Box::pin(self.trial_view(trial))
    }

    fn answer_trial<'a>(&'a self, trial: &'a str, shown: u64, answers: &'a [String]) -> Answer<'a, ()> {
        Box::pin(self.answered(trial, shown, answers))
    }

    fn judge_trial<'a>(&'a self, trial: &'a str, asked: &'a QueueAsked) -> Answer<'a, TrialFindings> {
        Box::pin(self.findings_of(trial, asked))
    }

    fn keep_trial<'a>(&'a self, trial: &'a str, shop: &'a ShopId) -> Answer<'a, TrialKept> {
        Box::pin(self.kept(trial, shop))
    }

    fn end_trial<'a>(&'a self, trial: &'a str) -> Answer<'a, ()> {
        Box::pin(async move { if self.trials.end(trial) { Ok(()) } else { Err(no_trial()) } })
    }
}
