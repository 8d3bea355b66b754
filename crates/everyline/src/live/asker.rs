//! Asking one source: what it brings goes into the ledger page by page, and how it went is noted there.
//!
//! Must not know how anything is judged or shown. Start reading at [`Asker::ask`].

use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use chrono::{DateTime, SubsecRound, TimeDelta, Utc};
use intake::source::declare::{Origin, Request, Service, Source};
use intake::source::http::{Client, Limits, World};
use intake::source::poll::{Dropped, FolderReader, PollError, Reader, Report, Step};
use ledger::{Asking, Changed, Ledger, LedgerError, Trouble};
use model::{Batch, ShopId, SourceId};
use tokio::sync::watch;

use crate::configuration::Settings;
use crate::terminal;

/// Under which request the reading of a folder is kept.
pub const FOLDER: &str = "folder";

/// A source that keeps failing is left alone for half as long as it has failed by then, but for no longer than this.
const LONGEST_PAUSE: TimeDelta = TimeDelta::minutes(15);

/// Of how much longer or shorter pauses are, by chance, so that many do not come at once.
const JITTER: f64 = 0.1;

/// The kinds of trouble, as the ledger has them.
pub mod kind {
    /// The answers are no longer what was declared.
    pub const CHANGED: &str = "changed";
    /// It did not answer, or not this.
    pub const UNREADABLE: &str = "unreadable";
    /// Its sign-in is lost, and does not come back by itself.
    pub const SIGNED_OUT: &str = "signed-out";
}

/// What asks one source, over and over.
pub struct Asker {
    shop: ShopId,
    source_id: SourceId,
    source: Source,
    settings: Arc<Settings>,
    digest_key: Vec<u8>,
    world: Arc<dyn World>,
    limits: Limits,
    /// Made where it is needed: its secret may not be there yet, or be another one by then.
    reader: Option<Reader>,
}

/// What came of asking a source once.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct Asked {
    /// What became of the rows.
    pub changed: Changed,
    /// What somebody should know, in sentences that name the source.
    pub notices: Vec<String>,
    /// What is the matter, in sentences that name the source; empty where all went well.
    pub troubles: Vec<String>,
    /// When it is to be asked again.
    pub next_at: DateTime<Utc>,
}

impl Asker {
    /// What asks a source of a shop.
    pub fn new(
        (shop, settings): (&ShopId, &Arc<Settings>),
        (source_id, source): (&SourceId, &Source),
        digest_key: &[u8],
        world: &Arc<dyn World>,
    ) -> Self {
        Self {
            shop: shop.clone(),
            source_id: source_id.clone(),
            source: source.clone(),
            settings: Arc::clone(settings),
            digest_key: digest_key.to_vec(),
            world: Arc::clone(world),
            limits: Limits::default(),
            reader: None,
        }
    }

    /// The source, by its configured name.
    pub fn source_id(&self) -> &SourceId {
        &self.source_id
    }

    /// Whether it is a folder: all that lies in one is read at once, and takes as much memory.
    pub fn is_folder(&self) -> bool {
        matches!(self.source.origin, Origin::Folder(_) | Origin::Exports(..))
    }

    /// Asks the source once, for all that it brings. Ends early, behind the page that is being read, once `stop` says
    /// so.
    ///
    /// # Errors
    /// Where the ledger cannot be read or written. What was committed before stands.
    pub async fn ask(&mut self, ledger: &Ledger, stop: &watch::Receiver<bool>) -> Result<Asked, LedgerError> {
        let mut asked = Asked::default();
        let mut pause = None;
        match &self.source.origin {
            Origin::Folder(folder) | Origin::Exports(folder, _) => {
                let folder = folder.clone();
                self.look(ledger, folder, &mut asked, &mut pause).await?;
            }
            Origin::Service(service) => {
                let service = Service::clone(service);
                self.poll(ledger, &service, stop, &mut asked, &mut pause).await?;
            }
        }
        let every = delta(self.source.every);
        let now = self.world.now();
        asked.next_at = now + pause.unwrap_or(every);
        Ok(asked)
    }

    /// Looks into a folder.
    async fn look(
        &self,
        ledger: &Ledger,
        folder: PathBuf,
        asked: &mut Asked,
        pause: &mut Option<TimeDelta>,
    ) -> Result<(), LedgerError> {
        let reader = FolderReader {
            shop: self.shop.clone(),
            source: self.source_id.clone(),
            folder,
            zone: self.settings.zone,
            rules: self.settings.rules.clone(),
            exports: matches!(self.source.origin, Origin::Exports(..)).then(|| Arc::new(self.source.clone())),
            digest_key: self.digest_key.clone(),
            world: Arc::clone(&self.world),
        };
        let mark = ledger.mark(&self.shop, &self.source_id, FOLDER).await?;
        let outcome = match reader.read(&mark).await {
            Ok(Dropped::Batch { batch, passed_over }) => {
                let told = passed_over.into_iter().map(|text| format!("source {}: {text}", self.source_id));
                asked.notices.extend(told);
                self.keep(ledger, &batch, asked).await?;
                Ok(Report::default())
            }
            Ok(Dropped::Unchanged(batch)) => {
                self.keep(ledger, &batch, asked).await?;
                Ok(Report::default())
            }
            Ok(Dropped::Waiting { file }) => {
                asked.notices.push(format!(
                    "source {}: {file} is still being written; it is read once it has been left alone",
                    self.source_id
                ));
                Ok(Report::default())
            }
            Err(error) => Err(error),
        };
        self.note(ledger, FOLDER, &[], outcome, asked, pause).await
    }

    /// Polls all requests of a service, one after the other.
    async fn poll(
        &mut self,
        ledger: &Ledger,
        service: &Service,
        stop: &watch::Receiver<bool>,
        asked: &mut Asked,
        pause: &mut Option<TimeDelta>,
    ) -> Result<(), LedgerError> {
        let reader = match self.reader.take() {
            Some(reader) => reader,
            None => {
                match reader(&self.shop, &self.source_id, service, &self.digest_key, self.limits, &self.world)
                {
                    Ok(reader) => reader,
                    Err(why) => {
                        for request in &service.requests {
                            let trouble = Trouble { kind: kind::UNREADABLE.to_owned(), words: why.clone() };
                            self.note_trouble(ledger, &request.name, trouble, None, pause).await?;
                        }
                        asked.troubles.push(format!("source {}: {why}", self.source_id));
                        return Ok(());
                    }
                }
            }
        };
        let mut secret_holds = true;
        for request in reader.requests() {
            if *stop.borrow() {
                break;
            }
            let outcome = match self.requested(ledger, &reader, request, stop, asked).await? {
                Some(outcome) => outcome,
                None => break,
            };
            let is_let_in = !outcome.as_ref().is_err_and(PollError::is_of_sign_in);
            secret_holds = !matches!(outcome, Err(PollError::SignIn { .. } | PollError::SignedOut { .. }));
            let is_silent = matches!(outcome, Err(PollError::Unreachable { .. }));
            let children: Vec<&str> =
                reader.descendants(request).into_iter().map(|child| child.name.as_str()).collect();
            self.note(ledger, &request.name, &children, outcome, asked, pause).await?;
            // Whoever does not answer this will not answer the rest; what is declared wrongly here may be right there.
            if is_silent || !is_let_in {
                break;
            }
        }
        if secret_holds {
            self.reader = Some(reader);
        }
        Ok(())
    }

    /// Polls one request to its end; `None` where it was stopped before.
    async fn requested(
        &self,
        ledger: &Ledger,
        reader: &Reader,
        request: &Request,
        stop: &watch::Receiver<bool>,
        asked: &mut Asked,
    ) -> Result<Option<Result<Report, PollError>>, LedgerError> {
        let marks = ledger.marks(&self.shop, &self.source_id).await?;
        let mut poll = reader.poll(request, &marks);
        loop {
            match poll.next().await {
                Ok(Step::Batch(batch) | Step::Unchanged(batch)) => self.keep(ledger, &batch, asked).await?,
                Ok(Step::Over(report)) => return Ok(Some(Ok(report))),
                Err(error) => return Ok(Some(Err(error))),
            }
            if *stop.borrow() {
                return Ok(None);
            }
        }
    }

    async fn keep(&self, ledger: &Ledger, batch: &Batch, asked: &mut Asked) -> Result<(), LedgerError> {
        let Changed { appeared, changed, gone, unchanged } = ledger.commit(batch).await?;
        asked.changed.appeared += appeared;
        asked.changed.changed += changed;
        asked.changed.gone += gone;
        asked.changed.unchanged += unchanged;
        Ok(())
    }

    /// Notes how asking a request went, and those that are asked for its rows with it.
    async fn note(
        &self,
        ledger: &Ledger,
        request: &str,
        children: &[&str],
        outcome: Result<Report, PollError>,
        asked: &mut Asked,
        pause: &mut Option<TimeDelta>,
    ) -> Result<(), LedgerError> {
        let now = self.world.now();
        let error = match outcome {
            Ok(report) => {
                let source = &self.source_id;
                let notices =
                    report.notices.iter().map(|notice| format!("source {source}, {request}: {notice}"));
                asked.notices.extend(notices);
                let counted = report.count.filter(|count| !count.agrees());
                for (name, counted) in
                    [(request, counted)].into_iter().chain(children.iter().map(|child| (*child, None)))
                {
                    let asking = Asking {
                        answered_at: Some(now),
                        failing_since: None,
                        trouble: None,
                        counted: counted.map(|count| (count.said_last, count.read)),
                        ..self.asking(name, now + delta(self.source.every))
                    };
                    ledger.note(&asking).await?;
                }
                return Ok(());
            }
            Err(error) => error,
        };
        asked.troubles.push(error.to_string());
        let is_changed =
            matches!(error, PollError::Changed { .. } | PollError::Folder { .. } | PollError::BadRows { .. });
        let kind = match error {
            _ if is_changed => kind::CHANGED,
            PollError::SignedOut { .. } => kind::SIGNED_OUT,
            _ => kind::UNREADABLE,
        };
        let trouble = Trouble { kind: kind.to_owned(), words: in_short(&error) };
        // A request that is asked for rows may be what fails; the one that brings the rows is not read to its end then.
        let place = error.place().map(|place| place.request.as_str());
        for name in [Some(request), place.filter(|place| children.contains(place))].into_iter().flatten() {
            self.note_trouble(ledger, name, trouble.clone(), error.not_before(), pause).await?;
        }
        Ok(())
    }

    async fn note_trouble(
        &self,
        ledger: &Ledger,
        request: &str,
        trouble: Trouble,
        not_before: Option<DateTime<Utc>>,
        pause: &mut Option<TimeDelta>,
    ) -> Result<(), LedgerError> {
        let now = self.world.now();
        let known = ledger
            .sources(&self.shop)
            .await?
            .into_iter()
            .find(|known| known.asking.source == self.source_id && known.asking.request == request);
        let failing_since = known.and_then(|known| known.asking.failing_since).unwrap_or(now);
        let wait = self.pause_after(now - failing_since, not_before.map(|moment| moment - now));
        *pause = (*pause).max(Some(wait));
        let asking = Asking {
            failing_since: Some(failing_since),
            trouble: Some(trouble),
            ..self.asking(request, now + wait)
        };
        ledger.note(&asking).await
    }

    /// How long a source is left alone that has failed for so long.
    fn pause_after(&self, failed_for: TimeDelta, asked_for: Option<TimeDelta>) -> TimeDelta {
        let every = delta(self.source.every);
        let pause = (failed_for / 2).clamp(every, every.max(LONGEST_PAUSE));
        let seconds = pause.num_seconds() as f64 * (1.0 + JITTER * (2.0 * self.world.random() - 1.0));
        TimeDelta::seconds(seconds as i64).max(asked_for.unwrap_or_default())
    }

    fn asking(&self, request: &str, next_at: DateTime<Utc>) -> Asking {
        Asking {
            shop: self.shop.clone(),
            source: self.source_id.clone(),
            request: request.to_owned(),
            asked_at: self.world.now(),
            answered_at: None,
            failing_since: None,
            trouble: None,
            next_at: Some(next_at.trunc_subsecs(0)),
            counted: None,
        }
    }
}

/// A reader of a service, with its secret.
///
/// # Errors
/// In words, where the secret cannot be had or is none.
pub fn reader(
    shop: &ShopId,
    source: &SourceId,
    service: &Service,
    digest_key: &[u8],
    limits: Limits,
    world: &Arc<dyn World>,
) -> Result<Reader, String> {
    let secret = match &service.sign_in {
        Some(sign_in) => sign_in
            .read_secret(&terminal::variable)
            .map_err(|error| format!("its sign-in has no secret: {error}"))?,
        None => None,
    };
    let client =
        Client::new(service, secret, limits, Arc::clone(world)).map_err(|error| error.to_string())?;
    Ok(Reader {
        shop: shop.clone(),
        source: source.clone(),
        service: service.clone(),
        client,
        digest_key: digest_key.to_vec(),
    })
}

/// What is the matter, without the place, which whoever reads it knows.
fn in_short(error: &PollError) -> String {
    let words = error.to_string();
    let place = error.place().map(|place| format!("{place}: "));
    let words = place.and_then(|place| words.strip_prefix(&place).map(str::to_owned)).unwrap_or(words);
    words.trim_end_matches('.').to_owned()
}

fn delta(span: Duration) -> TimeDelta {
    TimeDelta::from_std(span).unwrap_or(TimeDelta::MAX)
}
