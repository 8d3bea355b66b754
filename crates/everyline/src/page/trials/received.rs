//! Files that are coming, and are put aside as they come.
//!
//! What a file is called is shown, and is no path here. Must not know what stands in one. Start reading at [`Received`].

use std::sync::Arc;

use chrono_tz::Tz;
use intake::propose::ProposedRole;
use model::When;
use tokio::sync::OwnedSemaphorePermit;
use web::{Answer, Fault, GivenFile, GivenSupplier, GivenWords, Incoming, Receiving};

use super::refused;
use crate::audit::last_second;
use crate::trial::{self, Given, OwnFolder, Side};

/// Letters of the longest name of a file that is shown.
const NAME: usize = 120;

/// Letters of the longest name of a source.
const SOURCE: usize = 40;

/// Files that are coming.
pub(super) struct Received {
    pub(super) trials: Arc<trial::Trials>,
    pub(super) world: Arc<dyn intake::source::http::World>,
    pub(super) zone: Tz,
    /// Names of sources that are configured already.
    pub(super) used: Vec<String>,
    pub(super) id: String,
    pub(super) folder: OwnFolder,
    pub(super) _place: OwnedSemaphorePermit,
    /// Each with its place in the form; the storefront is 0.
    pub(super) sides: Vec<(usize, Side)>,
    pub(super) files: usize,
    pub(super) bytes: u64,
}

impl Received {
    /// The place of the source of a file, which is made where it is the first of its files.
    fn side(&mut self, supplier: Option<&GivenSupplier>) -> Result<usize, Fault> {
        let number = supplier.map_or(0, |supplier| supplier.number);
        if let Some(place) = self.sides.iter().position(|(own, _)| *own == number) {
            return Ok(place);
        }
        let role = match supplier {
            None => ProposedRole::Storefront,
            Some(supplier) if supplier.name.is_empty() => {
                return Err(Fault::Refused {
                    why: "files of a supplier were given without its name".to_owned(),
                    todo: "go back, and say the name of each supplier of which you give files".to_owned(),
                });
            }
            Some(supplier) => ProposedRole::Supplier(supplier.name.clone()),
        };
        if self.sides.iter().any(|(_, side)| side.role == role) {
            return Err(Fault::Refused {
                why: format!("the supplier {:?} was given twice", role.supplier().unwrap_or_default()),
                todo: "go back, and give all files of a supplier together".to_owned(),
            });
        }
        let side = Side { source: self.source(&role), role, files: Vec::new() };
        self.sides.push((number, side));
        Ok(self.sides.len() - 1)
    }

    /// A name for a source that no other has.
    fn source(&self, role: &ProposedRole) -> String {
        let of = role.supplier().unwrap_or("storefront");
        let plain: String = of
            .chars()
            .map(|c| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '-' })
            .collect();
        let plain = plain.split('-').filter(|part| !part.is_empty()).collect::<Vec<_>>().join("-");
        let plain: String = plain.chars().take(SOURCE).collect();
        let plain = if plain.is_empty() { "supplier".to_owned() } else { plain };
        let is_free = |name: &String| {
            !self.used.contains(name) && !self.sides.iter().any(|(_, side)| side.source == *name)
        };
        let mut names =
            (1..).map(|number| if number == 1 { plain.clone() } else { format!("{plain}-{number}") });
        names.find(is_free).unwrap_or(plain.clone())
    }

    async fn take(&mut self, file: GivenFile, bytes: &mut dyn Incoming) -> Result<(), Fault> {
        let limits = self.trials.limits;
        if self.files == limits.files {
            return Err(Fault::Refused {
                why: format!("more than {} files were given", limits.files),
                todo: "nothing was kept; give those of fewer days".to_owned(),
            });
        }
        let place = self.side(file.supplier.as_ref())?;
        let name = shown_name(&file.name);
        if self.sides[place].1.files.iter().any(|known| known.name == name) {
            return Err(Fault::Refused {
                why: format!("two files are called {name:?}"),
                todo: "nothing was kept; give one of them another name".to_owned(),
            });
        }
        self.files += 1;
        // By our own numbers: what a file is called is no path.
        let here = format!("given-{:02}-{:02}{}", place + 1, self.files, trial::ending(&name));
        let mut written = self.folder.file(&here).map_err(refused)?;
        while let Some(more) = bytes.next().await? {
            self.bytes += more.len() as u64;
            let (own, all) = (written.bytes + more.len() as u64, self.bytes);
            if own > limits.file_bytes || all > limits.all_bytes {
                let (what, most) = match own > limits.file_bytes {
                    true => (format!("the file {name:?} has"), limits.file_bytes),
                    false => ("the files have together".to_owned(), limits.all_bytes),
                };
                return Err(Fault::Refused {
                    why: format!("{what} more than {} MB", most >> 20),
                    todo: "nothing was kept; give fewer days at once, or use `everyline audit --from DIR --map FILE`"
                        .to_owned(),
                });
            }
            written.take(&more).await.map_err(refused)?;
        }
        written.end().await.map_err(refused)?;
        self.sides[place].1.files.push(Given { name, here });
        Ok(())
    }

    fn end(self, how: &GivenWords) -> Result<String, Fault> {
        let zone = match how.zone.as_str() {
            "" => self.zone,
            name => name.parse().map_err(|_| Fault::Refused {
                why: format!("{:?} is no time zone", digest::cut(name, 40)),
                todo: "go back, and give a name of the IANA time zone database, such as Europe/Oslo"
                    .to_owned(),
            })?,
        };
        let as_of = match how.as_of.as_str() {
            "" => None,
            text => Some(When::parse(text, zone).ok().map(last_second).ok_or_else(|| Fault::Refused {
                why: format!("{:?} is no moment", digest::cut(text, 40)),
                todo: format!("go back, and give {}", When::EXPECTED),
            })?),
        };
        let mut sides: Vec<(usize, Side)> = self.sides;
        sides.sort_by_key(|(number, _)| *number);
        if sides.first().is_none_or(|(number, _)| *number != 0) {
            return Err(Fault::Refused {
                why: "no file of the storefront was given".to_owned(),
                todo: "go back, and give its orders".to_owned(),
            });
        }
        let sides = sides.into_iter().map(|(_, side)| side).collect();
        self.trials.add(self.id.clone(), self.folder, (zone, as_of), sides, self.world.now());
        trial::look_after(&self.trials, self.world, self.id.clone());
        Ok(self.id)
    }
}

/// The name of a file without its folders, on one line and not too long.
fn shown_name(name: &str) -> String {
    let last = name.rsplit(['/', '\\']).next().unwrap_or_default();
    let plain: String = last.chars().map(|c| if c.is_control() || c == '*' { '_' } else { c }).collect();
    let plain = digest::clean(plain.trim()).into_owned();
    let cut: String = match plain.chars().count() > NAME {
        // The ending stays.
        true => plain.chars().skip(plain.chars().count() - NAME).collect(),
        false => plain,
    };
    if cut.is_empty() { "file".to_owned() } else { cut }
}

impl Receiving for Received {
    fn put<'a>(&'a mut self, file: GivenFile, bytes: &'a mut dyn Incoming) -> Answer<'a, ()> {
        Box::pin(self.take(file, bytes))
    }

    fn finish(self: Box<Self>, how: GivenWords) -> Answer<'static, String> {
        Box::pin(async move { (*self).end(&how) })
    }
}
