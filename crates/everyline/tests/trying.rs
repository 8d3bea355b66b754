//! Files tried on the page, over HTTP: what is found is what the command line finds, within limits, and nothing stays.
//!
//! Start reading at [`Served`].

#![allow(clippy::unwrap_used, reason = "all of this is tests")]

use std::fs;
use std::io::{Read as _, Write as _};
use std::net::{SocketAddr, TcpStream};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use chrono::{DateTime, TimeDelta, Utc};
use everyline::configuration::Configuration;
use everyline::live::world::Told;
use everyline::page::{self, PageDesk};
use ledger::Ledger;
use serde_json::Value;
use tempfile::TempDir;
use tokio::sync::watch;

/// A page on a port of its own, and a browser that keeps its cookie.
struct Served {
    folder: TempDir,
    address: SocketAddr,
    desk: Arc<PageDesk>,
    told: Arc<Told>,
    stopping: watch::Sender<bool>,
    cookie: String,
    stamp: String,
}

struct Got {
    status: u16,
    location: String,
    body: String,
}

fn now() -> DateTime<Utc> {
    "2026-11-27T12:00:00Z".parse().unwrap()
}

/// A file as a browser gives it: the field, its name, its bytes.
type File<'f> = (&'f str, String, Vec<u8>);

impl Served {
    async fn new() -> Self {
        Self::of(|desk| desk, |_| ()).await
    }

    async fn of(desk: impl FnOnce(PageDesk) -> PageDesk, before: impl FnOnce(&Path)) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("everyline.toml");
        fs::write(&file, "zone = \"Europe/Vienna\"\n").unwrap();
        let configuration = Configuration::read(&file).unwrap();
        let ledger = Ledger::open(&configuration.ledger).await.unwrap();
        before(folder.path());
        let told = Arc::new(Told::new(now()));
        let world: Arc<dyn intake::source::http::World> = Arc::clone(&told) as _;
        let desk = Arc::new(desk(PageDesk::new(&configuration, &file, ledger, world)));
        let (stopping, stop) = watch::channel(false);
        let listen = "127.0.0.1:0".parse().unwrap();
        let served = page::open(&configuration.page, listen, Arc::clone(&desk), stop).await.unwrap();
        let address = served.address;
        let mut new =
            Self { folder, address, desk, told, stopping, cookie: String::new(), stamp: String::new() };
        let head = new.raw("GET", "/try", "", Vec::new()).await;
        new.cookie = between(&head, "set-cookie: ", ";").to_owned();
        let page = new.get("/try").await;
        assert_eq!(page.status, 200, "{}", page.body);
        new.stamp = between(&page.body, "name=\"stamp\" value=\"", "\"").to_owned();
        new
    }

    /// The whole answer.
    async fn raw(&self, method: &str, path: &str, head: &str, body: Vec<u8>) -> String {
        let address = self.address;
        let request = format!(
            "{method} {path} HTTP/1.1\r\nhost: {address}\r\nconnection: close\r\nsec-fetch-site: same-origin\r\ncookie: {}\r\n\
             content-length: {}\r\n{head}\r\n",
            self.cookie,
            body.len()
        );
        tokio::task::spawn_blocking(move || {
            let mut stream = TcpStream::connect(address).unwrap();
            stream.write_all(request.as_bytes()).unwrap();
            // Whoever is refused in the midst of it is answered all the same.
            let _ = stream.write_all(&body);
            let mut answer = Vec::new();
            let _ = stream.read_to_end(&mut answer);
            String::from_utf8_lossy(&answer).into_owned()
        })
        .await
        .unwrap()
    }

    async fn ask(&self, method: &str, path: &str, head: &str, body: Vec<u8>) -> Got {
        let answer = self.raw(method, path, head, body).await;
        let (head, body) = answer.split_once("\r\n\r\n").unwrap_or((&answer, ""));
        let status = head.split(' ').nth(1).and_then(|status| status.parse().ok()).unwrap_or_default();
        let location = if head.contains("location: ") { between(head, "location: ", "\r\n") } else { "" };
        Got { status, location: location.to_owned(), body: body.to_owned() }
    }

    async fn get(&self, path: &str) -> Got {
        self.ask("GET", path, "", Vec::new()).await
    }

    async fn json(&self, path: &str) -> Value {
        let got = self.get(path).await;
        serde_json::from_str(&got.body).unwrap_or_else(|error| panic!("{path}: {error}: {}", got.body))
    }

    async fn post(&self, path: &str, form: &[(&str, &str)]) -> Got {
        let mut body = url::form_urlencoded::Serializer::new(String::new());
        body.append_pair("stamp", &self.stamp);
        body.extend_pairs(form);
        let head = "content-type: application/x-www-form-urlencoded\r\n";
        self.ask("POST", path, head, body.finish().into_bytes()).await
    }

    /// Gives files; texts stand before them.
    async fn give(&self, texts: &[(&str, &str)], files: &[File<'_>]) -> Got {
        let mut body = Vec::new();
        let mut part = |name: &str, file: Option<&str>, bytes: &[u8]| {
            let file = file.map(|file| format!("; filename=\"{file}\"")).unwrap_or_default();
            body.extend(
                format!("--XX\r\ncontent-disposition: form-data; name=\"{name}\"{file}\r\n\r\n").bytes(),
            );
            body.extend(bytes);
            body.extend(b"\r\n");
        };
        part("stamp", None, self.stamp.as_bytes());
        for (name, text) in texts {
            part(name, None, text.as_bytes());
        }
        for (name, file, bytes) in files {
            part(name, Some(file), bytes);
        }
        body.extend(b"--XX--\r\n");
        self.ask("POST", "/try", "content-type: multipart/form-data; boundary=XX\r\n", body).await
    }

    /// A trial of a small shop of our own.
    async fn begin(&self) -> String {
        let got = self.give(&[], &[small("orders.csv")]).await;
        assert_eq!(got.status, 303, "{}", got.body);
        got.location
    }

    /// All that lies in the folders of trials.
    fn lies(&self) -> Vec<PathBuf> {
        let base = self.folder.path().join("everyline.db.trials");
        let mut all = Vec::new();
        let mut folders = vec![base];
        while let Some(folder) = folders.pop() {
            for entry in fs::read_dir(folder).into_iter().flatten() {
                let path = entry.unwrap().path();
                if path.is_dir() { folders.push(path) } else { all.push(path) }
            }
        }
        all
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.stopping.send(true);
    }
}

fn between<'t>(text: &'t str, before: &str, behind: &str) -> &'t str {
    let (_, rest) = text.split_once(before).unwrap_or_else(|| panic!("no {before:?} in {text}"));
    rest.split_once(behind).map_or(rest, |(own, _)| own)
}

fn small(name: &str) -> File<'static> {
    let rows: String = (1..=6)
        .map(|number| format!("B-{number},2026-11-2{number}T09:00:00Z,paid,Otter apron,AP-{number},1\n"))
        .collect();
    ("storefront", name.to_owned(), format!("Order No,Date,State,Item,SKU,Qty\n{rows}").into_bytes())
}

const PAIR: &str = "tests/corpus/blind/02-grauwacke";

/// The files of one side of the pair.
fn side(folder: &str) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(PAIR).join(folder);
    let mut files: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    files
}

fn name_of(path: &Path) -> String {
    path.file_name().unwrap().to_string_lossy().into_owned()
}

/// What the command line says: `source propose` with what was said of each source, then `audit`.
fn by_the_command_line(supplier: &str, answers: &[Vec<String>; 2]) -> Value {
    let scratch = tempfile::tempdir().unwrap();
    let run = |arguments: &[String]| {
        let mut command = assert_cmd::Command::cargo_bin("everyline").unwrap();
        let done = command.current_dir(scratch.path()).args(arguments).output().unwrap();
        assert!(matches!(done.status.code(), Some(0 | 1 | 3)), "{}", String::from_utf8_lossy(&done.stderr));
        String::from_utf8(done.stdout).unwrap()
    };
    let propose = |role: &str, more: &[&str], answers: &[String]| {
        let mut arguments = vec!["source", "propose", "--zone", "Europe/Vienna", "--role", role];
        arguments.extend(more);
        let mut arguments: Vec<String> = arguments.into_iter().map(str::to_owned).collect();
        for answer in answers {
            arguments.extend(["--answer".to_owned(), answer.clone()]);
        }
        arguments.push("--sample".to_owned());
        arguments.extend(side(role).iter().map(|file| file.display().to_string()));
        run(&arguments);
    };
    propose("storefront", &["--out", "shop.toml"], &answers[0]);
    let more = ["--out", "supplier.toml", "--supplier", supplier, "--beside", "shop.toml"];
    propose("supplier", &more, &answers[1]);
    fs::create_dir(scratch.path().join("both")).unwrap();
    for file in side("storefront").iter().chain(&side("supplier")) {
        fs::copy(file, scratch.path().join("both").join(name_of(file))).unwrap();
    }
    let audit = format!(
        "audit --from both --map shop.toml --map supplier.toml --as-of {AS_OF} --format json --quiet --skip-bad-rows"
    );
    let said = run(&audit.split(' ').map(str::to_owned).collect::<Vec<_>>());
    serde_json::from_str(&said).unwrap()
}

const AS_OF: &str = "2026-02-10T12:00:00+01:00";

/// The ids of all findings of a trial, over all pages of its list.
async fn ids_of(served: &Served, trial: &str) -> Vec<String> {
    let mut ids = Vec::new();
    let path = format!("/api/trials/{trial}/findings");
    let pages = served.json(&path).await["judged"]["queue"]["pages"].as_u64().unwrap();
    for page in 1..=pages {
        let found = served.json(&format!("{path}?page={page}")).await;
        for task in found["judged"]["queue"]["tasks"].as_array().unwrap() {
            let first = task["concerned"][0]["finding"].as_str().unwrap();
            let whole = served.json(&format!("{path}?finding={first}")).await;
            for task in whole["judged"]["queue"]["tasks"].as_array().unwrap() {
                let concerned = task["concerned"].as_array().unwrap();
                ids.extend(concerned.iter().map(|one| one["finding"].as_str().unwrap().to_owned()));
            }
        }
    }
    ids.sort();
    ids.dedup();
    ids
}

/// What may be said of open points and of some fields, as the page takes it and as the command line does.
fn said_of(state: &Value) -> (Vec<String>, [Vec<String>; 2]) {
    let mut values = Vec::new();
    let mut answers = [Vec::new(), Vec::new()];
    let mut say = |value: &Value, answer: String| {
        let value = value.as_str().unwrap();
        let source: usize = value.split(':').next().unwrap().parse().unwrap();
        values.push(value.to_owned());
        answers[source].push(answer);
    };
    for point in state["points"].as_array().unwrap() {
        let question = point["question"].as_str().unwrap();
        let choice = &point["choices"][0]["value"];
        let parts: Vec<&str> = choice.as_str().unwrap().split(':').collect();
        assert_eq!(parts[1], "w", "only words are open in this pair: {question}");
        say(choice, format!("{}:{}={}", parts[2], between(question, "“", "”"), parts[4]));
    }
    for field in state["sources"][0]["tables"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|table| table["fields"].as_array().unwrap())
    {
        match field["field"].as_str().unwrap() {
            // What was taken for cancelled is said to be open.
            "orders.status" => {
                for word in field["words"].as_array().unwrap() {
                    let meanings = word["meanings"].as_array().unwrap();
                    if meanings.iter().any(|one| one["is_chosen"] == true && one["label"] == "cancelled") {
                        let word = word["word"].as_str().unwrap();
                        say(&meanings[1]["value"], format!("orders.status:{word}=open"));
                    }
                }
            }
            // And the titles are not read.
            "order_lines.title" => {
                let nowhere = field["places"].as_array().unwrap().last().unwrap();
                say(&nowhere["value"], "order_lines.title=".to_owned());
            }
            _ => {}
        }
    }
    (values, answers)
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_found_in_files_after_corrections_is_what_the_command_line_finds() {
    let served = Served::new().await;
    let mut files = Vec::new();
    for (field, folder) in [("storefront", "storefront"), ("files-1", "supplier")] {
        for file in side(folder) {
            files.push((field, name_of(&file), fs::read(&file).unwrap()));
        }
    }
    let texts = [("supplier-1", "tuchwerk"), ("zone", "Europe/Vienna"), ("as_of", AS_OF)];
    let got = served.give(&texts, &files).await;
    assert_eq!(got.status, 303, "{}", got.body);
    assert_eq!(served.lies().len(), files.len());
    assert!(served.lies().iter().all(|path| name_of(path).starts_with("given-")));
    let trial = got.location.trim_start_matches("/try/").to_owned();

    let page = served.get(&got.location).await;
    assert_eq!(page.status, 200, "{}", page.body);
    assert!(page.body.contains("is taken from the column"), "{}", page.body);
    let state = served.json(&format!("/api/trials/{trial}")).await;
    let (values, answers) = said_of(&state);
    assert!(answers[0].len() > 1, "{answers:?} of {state}");
    let mut form: Vec<(String, &str)> =
        values.iter().enumerate().map(|(number, value)| (format!("c{number}"), value.as_str())).collect();
    form.push(("shown".to_owned(), "0"));
    let form: Vec<(&str, &str)> = form.iter().map(|(name, value)| (name.as_str(), *value)).collect();
    let taken = served.post(&format!("{}/answer", got.location), &form).await;
    assert_eq!(taken.status, 303, "{}", taken.body);
    let again = served.post(&format!("{}/answer", got.location), &form).await;
    assert_eq!(again.status, 409, "what was shown is another by now");
    assert!(again.body.contains("Nothing was taken"), "{}", again.body);

    let state = served.json(&format!("/api/trials/{trial}")).await;
    assert_eq!(state["points"], Value::Array(Vec::new()), "all was said");
    assert!(!state.to_string().contains("\"order_lines.title\""), "titles are not read");
    let leave_out = [("shown", "1"), ("c0", "bad-rows:leave-out"), ("to", "findings")];
    let left = served.post(&format!("{}/answer", got.location), &leave_out).await;
    assert_eq!(left.location, format!("{}/findings", got.location), "{}", left.body);
    let page = served.get(&left.location).await;
    assert_eq!(page.status, 200, "{}", page.body);

    let found = served.json(&format!("/api/trials/{trial}/findings")).await;
    let said = by_the_command_line("tuchwerk", &answers);
    assert_eq!(found["judged"]["totals"], said["totals"]);
    let mut want: Vec<String> = said["findings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["id"].as_str().unwrap().to_owned())
        .collect();
    want.sort();
    assert!(!want.is_empty());
    assert_eq!(ids_of(&served, &trial).await, want);

    assert_eq!(served.ask("DELETE", &format!("/api/trials/{trial}"), "", Vec::new()).await.status, 204);
    assert_eq!(served.lies(), Vec::<PathBuf>::new());
}

/// Files of a supplier whose catalogue says nothing of itself; its orders are for `B-1` to `B-6`.
fn of_supplier(catalogue: &str) -> Vec<File<'static>> {
    let runs: String = (1..=6)
        .map(|number| {
            format!("R-70{number},B-{number},making,2026-11-2{number}T10:30:00Z,1,BK AP.{number}0 RED,1\n")
        })
        .collect();
    let runs = format!("Run,Your order,State,Received at,Line,SKU,Qty\n{runs}");
    vec![
        ("files-1", "runs.csv".to_owned(), runs.into_bytes()),
        ("files-1", "goods.csv".to_owned(), catalogue.as_bytes().to_vec()),
    ]
}

fn points_of(state: &Value) -> Vec<(String, Vec<String>)> {
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    let of = |point: &Value| {
        let choices = point["choices"].as_array().unwrap().iter().map(|choice| text(&choice["label"]));
        (format!("{} {}", text(&point["about"][0]), text(&point["question"])), choices.collect())
    };
    state["points"].as_array().unwrap().iter().map(of).collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn nothing_is_judged_before_it_is_said_what_a_file_holds_of_which_nothing_is_read() {
    let served = Served::new().await;
    // Nothing in it names a variant.
    let goods = "a;b;c\nred apron;7;x\nred apron;7;x\nblue apron;8;x\n";
    let mut files = of_supplier(goods);
    files.push(small("orders.csv"));
    let got = served.give(&[("supplier-1", "brook-print")], &files).await;
    assert_eq!(got.status, 303, "{}", got.body);
    let trial = got.location.trim_start_matches("/try/").to_owned();
    let state = served.json(&format!("/api/trials/{trial}")).await;
    let unread = points_of(&state);
    let of_file = unread.iter().find(|(question, _)| question.contains("goods.csv"));
    let (question, choices) = of_file.unwrap_or_else(|| panic!("{unread:?}"));
    assert!(question.contains("nothing is read of it yet. What is in it?"), "{question}");
    assert!(choices.contains(&"What the supplier makes".to_owned()), "{choices:?}");
    assert_eq!(choices.last().unwrap(), "nothing that is needed: leave it out");
    assert_eq!(state["can_be_judged"], false);
    let why = state["not_judged"].as_str().unwrap();
    assert!(why.starts_with("Nothing is read of") && why.contains("goods.csv"), "{why}");
    let page = served.get(&got.location).await;
    assert!(!page.body.contains("Everything that has to be known was found"), "{}", page.body);
    let findings = served.get(&format!("{}/findings", got.location)).await;
    assert_eq!((findings.status, findings.location.as_str()), (303, got.location.as_str()));

    // Said to be the catalogue, what is not found in it is asked.
    let value_of = |state: &Value, file: &str, label: &str| {
        let points = state["points"].as_array().unwrap();
        let point = points.iter().find(|point| point["about"][0].as_str().unwrap().contains(file)).unwrap();
        let choices = point["choices"].as_array().unwrap();
        let choice = choices.iter().find(|choice| choice["label"].as_str().unwrap().contains(label)).unwrap();
        choice["value"].as_str().unwrap().to_owned()
    };
    let makes = value_of(&state, "goods.csv", "What the supplier makes");
    let taken =
        served.post(&format!("{}/answer", got.location), &[("shown", "0"), ("c0", makes.as_str())]).await;
    assert_eq!(taken.status, 303, "{}", taken.body);
    let state = served.json(&format!("/api/trials/{trial}")).await;
    let asked = points_of(&state);
    assert!(asked.iter().any(|(text, _)| text.contains("The supplier's code of what it makes")), "{asked:?}");

    // Left out in another trial, the rest is judged, and it is said whose files there are.
    let got = served.give(&[("supplier-1", "brook-print")], &files).await;
    let trial = got.location.trim_start_matches("/try/").to_owned();
    let state = served.json(&format!("/api/trials/{trial}")).await;
    let leave_out = value_of(&state, "goods.csv", "leave it out");
    let taken =
        served.post(&format!("{}/answer", got.location), &[("shown", "0"), ("c0", leave_out.as_str())]).await;
    assert_eq!(taken.status, 303, "{}", taken.body);
    let state = served.json(&format!("/api/trials/{trial}")).await;
    assert_eq!(points_of(&state), Vec::new());
    assert_eq!(state["can_be_judged"], true, "{state}");
    let page = served.get(&format!("{}/findings", got.location)).await;
    assert!(page.body.contains("A supplier may be missing"), "{}", page.body);
}

#[tokio::test(flavor = "multi_thread")]
async fn codes_that_look_like_amounts_and_skus_with_blanks_are_read_where_they_are_called_so() {
    let served = Served::new().await;
    let rows: String = (1..=6)
        .map(|number| format!("4100.0{number},BK AP.{number}0 RED,APRON (strong),red,6.90,EUR\n"))
        .collect();
    let mut files = of_supplier(&format!("variant_id,sku,product,colour,unit_cost,currency\n{rows}"));
    files.push(small("orders.csv"));
    let got = served.give(&[("supplier-1", "brook-print")], &files).await;
    assert_eq!(got.status, 303, "{}", got.body);
    let state = served.json(&format!("/api{}", got.location.replace("/try/", "/trials/"))).await;
    let supplier = &state["sources"][1];
    let tables = supplier["tables"].as_array().unwrap();
    let fields = |table: &str| -> Vec<String> {
        let table = tables.iter().find(|own| own["table"] == table).unwrap_or_else(|| panic!("{state}"));
        let fields = table["fields"].as_array().unwrap().iter();
        fields
            .map(|field| format!("{} {}", field["how"].as_str().unwrap(), field["field"].as_str().unwrap()))
            .collect()
    };
    let variants = fields("variants");
    for want in ["sure variants.variant_id", "sure variants.sku", "sure variants.unit_cost"] {
        assert!(variants.contains(&want.to_owned()), "{want} of {variants:?}");
    }
    let lines = fields("submission_lines");
    assert!(lines.iter().any(|field| field.ends_with("submission_lines.sku")), "{lines:?}");
    assert_eq!(state["can_be_judged"], true, "{state}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_storefront_alone_is_told_what_is_missing_and_a_catalogue_alone_is_one() {
    let served = Served::new().await;
    let trial = served.begin().await;
    let page = served.get(&trial).await;
    assert!(page.body.contains("There is nothing to compare the orders with"), "{}", page.body);
    assert!(!page.body.contains("See what is found"), "{}", page.body);
    // Names that are written in two ways are one.
    let goods = "variant_id,sku,product,options,unit_cost\n\
        41001,AP-1,Apron,\"{\"\"Colour\"\":\"\"red\"\"}\",6.90\n41002,AP-2,Apron,\"{\"\"Colour\"\":\"\"blue\"\"}\",6.90\n\
        41003,AP-3,Apron,\"{\"\"colour\"\":\"\"red\"\"}\",7.90\n41004,AP-4,Apron,\"{\"\"colour\"\":\"\"blue\"\"}\",7.90\n\
        41005,AP-5,Apron,\"{\"\"colour\"\":\"\"red\"\"}\",5.90\n41006,AP-6,Apron,\"{\"\"Colour\"\":\"\"red\"\"}\",5.90\n";
    // Of a table without rows nothing is missing.
    let parcels = b"parcel_id,submission_id,dispatched_at\n".to_vec();
    let files = [
        small("orders.csv"),
        ("files-1", "goods.csv".to_owned(), goods.as_bytes().to_vec()),
        ("files-1", "parcels.csv".to_owned(), parcels),
    ];
    let got = served.give(&[("supplier-1", "brook-print")], &files).await;
    assert_eq!(got.status, 303, "{}", got.body);
    let state = served.json(&format!("/api{}", got.location.replace("/try/", "/trials/"))).await;
    assert_eq!(state["sources"][1]["tables"][0]["table"], "variants", "{state}");
    assert_eq!(state["can_be_judged"], true, "{state}");
    let found = served.get(&format!("{}/findings", got.location)).await;
    assert_eq!(found.status, 200, "{}", found.body);
}

#[tokio::test(flavor = "multi_thread")]
async fn nothing_stays_after_it_is_done_after_half_an_hour_after_a_crash_and_after_a_stop() {
    let left = |folder: &Path| {
        fs::create_dir_all(folder.join("everyline.db.trials/ab12")).unwrap();
        fs::write(folder.join("everyline.db.trials/ab12/given-01-01.csv"), "left by a crash").unwrap();
    };
    let served = Served::of(|desk| desk, left).await;
    assert_eq!(served.lies(), Vec::<PathBuf>::new(), "what a crash left is deleted at the start");

    let first = served.begin().await;
    #[cfg(unix)]
    for path in served.lies() {
        use std::os::unix::fs::PermissionsExt as _;
        let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
        assert_eq!(mode(&path), 0o600);
        assert_eq!(mode(path.parent().unwrap()), 0o700);
        assert_eq!(mode(path.parent().unwrap().parent().unwrap()), 0o700);
    }
    assert_eq!(served.get(&first).await.status, 200);
    assert_eq!(served.post(&format!("{first}/done"), &[]).await.location, "/try?said=done");
    assert_eq!(served.lies(), Vec::<PathBuf>::new());
    assert_eq!(served.get(&first).await.status, 404);

    let second = served.begin().await;
    served.told.set(now() + TimeDelta::minutes(29));
    assert_eq!(served.get(&second).await.status, 200, "it is used");
    served.told.set(now() + TimeDelta::minutes(58));
    assert_eq!(served.get(&second).await.status, 200, "less than half an hour after that");
    served.told.set(now() + TimeDelta::minutes(89));
    assert_eq!(served.get(&second).await.status, 404);
    assert_eq!(served.lies(), Vec::<PathBuf>::new());

    served.begin().await;
    assert_eq!(served.lies().len(), 1);
    served.desk.end_trials();
    assert!(!served.folder.path().join("everyline.db.trials").exists());
}

#[tokio::test(flavor = "multi_thread")]
async fn each_limit_is_said_and_leaves_nothing() {
    let served = Served::new().await;
    let text = |name: &str, text: String| ("storefront", name.to_owned(), text.into_bytes());
    let head = "Order No,Date,State,Item,SKU,Qty\n";
    let row = "B-1,2026-11-21T09:00:00Z,paid,Otter apron,AP-1,1\n";
    let many =
        (0..21).map(|number| text(&format!("{number}.csv"), format!("{head}{row}"))).collect::<Vec<_>>();
    let large = vec![text("large.csv", format!("{head}{}", row.repeat((8 << 20) / row.len() + 1)))];
    let together: Vec<File<'_>> =
        (0..5).map(|number| text(&format!("{number}.csv"), "x".repeat((8 << 20) - 1_000))).collect();
    let twice = vec![text("a/orders.csv", row.to_owned()), text("b\\orders.csv", row.to_owned())];
    for (files, says) in [
        (many, "More than 20 files were given."),
        (large, "more than 8 MB"),
        (together, "together"),
        (twice, "Two files are called"),
        (Vec::new(), "No file of the storefront was given."),
    ] {
        let got = served.give(&[], &files).await;
        assert!([413, 422].contains(&got.status), "{says}: {}", got.body);
        assert!(got.body.contains(says), "{says}: {}", got.body);
        assert_eq!(served.lies(), Vec::<PathBuf>::new(), "{says}");
    }
    for (texts, says) in
        [(("zone", "Europe/Nowhere"), "is no time zone"), (("as_of", "yesterday"), "is no moment")]
    {
        let got = served.give(&[texts], &[small("orders.csv")]).await;
        assert_eq!(got.status, 422);
        assert!(got.body.contains(says), "{says}: {}", got.body);
        assert_eq!(served.lies(), Vec::<PathBuf>::new(), "{says}");
    }
    let unnamed = [small("orders.csv"), ("files-1", "jobs.csv".to_owned(), b"a,b".to_vec())];
    assert!(served.give(&[], &unnamed).await.body.contains("without its name"));

    // What can only be seen once the files are read: too many rows, a file that is none, one that is packed too tightly.
    let rows: String =
        (0..50_001).map(|number| format!("B-{number},2026-11-21T09:00:00Z,paid,Cap,C-1,1\n")).collect();
    for (file, says) in [
        (text("orders.csv", format!("{head}{rows}")), "more than 50000 rows together"),
        (text("orders.xlsx", "PK\u{3}\u{4} no workbook".to_owned()), "orders.xlsx"),
        (text("orders.csv", "%PDF-1.7 a page".to_owned()), "file cannot be read: orders.csv"),
    ] {
        let got = served.give(&[], &[file]).await;
        assert_eq!(got.status, 303, "{says}: {}", got.body);
        let page = served.get(&got.location).await;
        assert_eq!(page.status, 422, "{says}: {}", page.body);
        assert!(page.body.contains(says), "{says}: {}", page.body);
        assert_eq!(served.lies(), Vec::<PathBuf>::new(), "{says}");
    }

    for _ in 0..3 {
        served.begin().await;
    }
    let got = served.give(&[], &[small("orders.csv")]).await;
    assert_eq!(got.status, 422);
    assert!(got.body.contains("3 trials are under way already"), "{}", got.body);
    assert_eq!(served.lies().len(), 3);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_trial_that_takes_too_long_is_given_up_and_deleted() {
    let served = Served::of(|desk| desk.trying_for(Duration::ZERO), |_| ()).await;
    let trial = served.begin().await;
    let page = served.get(&trial).await;
    assert_eq!(page.status, 422);
    assert!(page.body.contains("took too long"), "{}", page.body);
    assert_eq!(served.lies(), Vec::<PathBuf>::new());
    assert_eq!(served.get(&trial).await.status, 404);
}

#[tokio::test(flavor = "multi_thread")]
async fn hostile_names_headers_and_cells_are_harmless() {
    let served = Served::new().await;
    let rows: String = (1..=6)
        .map(|number| {
            format!("B-{number},2026-11-2{number}T09:00:00Z,<script>1</script>,\"=HYPERLINK(\"\"x\"\")\",AP-{number},1\n")
        })
        .collect();
    let bytes =
        format!("Order No,Date,State,\"</option><script>alert(1)</script>\",SKU,Qty\n{rows}").into_bytes();
    let name = "../../../../tmp/<img src=x onerror=alert(1)>*.csv".to_owned();
    let texts = [("supplier-1", "x\"]")];
    let jobs = b"Job,Ordered,Got,State,Art,Pieces\nJ-1,B-1,2026-11-21T10:00:00Z,making,AP-1,1\n\
        J-2,B-2,2026-11-22T10:00:00Z,making,AP-2,1\nJ-3,B-3,2026-11-23T10:00:00Z,sent,AP-3,1\n";
    let files = [("storefront", name, bytes), ("files-1", "..".to_owned(), jobs.to_vec())];
    let got = served.give(&texts, &files).await;
    assert_eq!(got.status, 303, "{}", got.body);
    for path in served.lies() {
        assert!(name_of(&path).starts_with("given-0") && path.starts_with(served.folder.path()));
    }
    for path in ["", "/findings", "/kept"] {
        let page = served.get(&format!("{}{path}", got.location)).await;
        for bad in ["<script>1", "<script>alert", "</option><script", "<img"] {
            assert!(!page.body.contains(bad), "{bad} in {path}");
        }
    }
    let kept = served.post(&format!("{}/keep", got.location), &[]).await;
    assert_eq!(kept.status, 303, "{}", kept.body);
    let mut written: Vec<String> = fs::read_dir(served.folder.path().join("mappings"))
        .unwrap()
        .map(|entry| name_of(&entry.unwrap().path()))
        .collect();
    written.sort();
    assert_eq!(written, ["storefront.toml", "x.toml"]);
    for file in written {
        let text = fs::read_to_string(served.folder.path().join("mappings").join(&file)).unwrap();
        let keys: toml_edit::DocumentMut = text.parse().unwrap();
        assert!(keys.get("page").is_none() && keys.get("sources").is_some(), "{file}");
    }
    for answer in [
        "",
        "9:p:orders.order_id:0",
        "0:p:orders.order_id:9999",
        "0:p:orders.nothing:0",
        "0:x:orders.status:0",
    ] {
        let state = served.json(&format!("/api{}", got.location.replace("/try/", "/trials/"))).await;
        let body =
            serde_json::json!({ "shown": state["shown"], "answers": [answer] }).to_string().into_bytes();
        let path = format!("/api/trials/{}/answers", got.location.trim_start_matches("/try/"));
        let refused = served.ask("POST", &path, "content-type: application/json\r\n", body).await;
        assert_eq!(refused.status, 422, "{answer}: {}", refused.body);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_mapping_is_kept_in_a_file_of_its_own_and_written_over_none() {
    let served = Served::new().await;
    let folder = served.folder.path().canonicalize().unwrap();
    fs::create_dir(folder.join("mappings")).unwrap();
    fs::write(folder.join("mappings/storefront.toml"), "# of the owner\n").unwrap();
    let before = fs::read(folder.join("everyline.toml")).unwrap();
    let trial = served.begin().await;
    let kept = served.post(&format!("{trial}/keep"), &[]).await;
    assert_eq!(kept.location, format!("{trial}/kept"), "{}", kept.body);
    let written = folder.join("mappings/storefront-2.toml");
    let page = served.get(&kept.location).await;
    assert!(page.body.contains(&written.display().to_string()), "{}", page.body);
    assert_eq!(fs::read_to_string(folder.join("mappings/storefront.toml")).unwrap(), "# of the owner\n");
    assert_eq!(fs::read(folder.join("everyline.toml")).unwrap(), before, "the configuration stays as it is");
    served.post(&format!("{trial}/keep"), &[]).await;
    assert_eq!(fs::read_dir(folder.join("mappings")).unwrap().count(), 2, "kept once");

    // What was written is a mapping that the command line takes, and what is to be added makes a configuration.
    let (_, sources) = everyline::propose::sources_of(&written).unwrap();
    assert_eq!(sources.len(), 1);
    let state = served.json(&format!("/api{}", trial.replace("/try/", "/trials/"))).await;
    let mapping = &state["kept"]["mappings"][0];
    let lines: Vec<&str> =
        mapping["lines"].as_array().unwrap().iter().map(|line| line.as_str().unwrap()).collect();
    let whole = format!("{}\n{}\n", String::from_utf8(before).unwrap(), lines.join("\n"));
    let configuration = Configuration::parse(&whole, "whole").map_err(|trouble| trouble.to_string()).unwrap();
    let (_, settings) = configuration.shop(None).unwrap();
    assert_eq!(settings.sources.keys().map(ToString::to_string).collect::<Vec<_>>(), ["storefront"]);
    assert_eq!(mapping["folder"], folder.join("exports/storefront").display().to_string());
}

/// Supplier orders in which a list says which parcels went, under names that nobody knows.
fn runs_with_unnamed_parcels() -> Vec<u8> {
    let runs: Vec<String> = (1..7)
        .map(|run| {
            format!(
                r#"{{"run_no": "R-{run}00", "your_order": "B-{run}", "status": "making", "received_at": "2026-11-2{run}T10:30:00Z",
                "items": [{{"line_no": 1, "product_code": "AP-{run}", "quantity": 1}}],
                "zz": [{{"q": "P{run}07", "w": "2026-11-2{run}T12:00:00Z", "v": "2026-11-2{run}T13:00:00Z"}}]}}"#
            )
        })
        .collect();
    format!("[{}]", runs.join(",")).into_bytes()
}

#[tokio::test(flavor = "multi_thread")]
async fn a_table_that_was_not_found_is_asked_for_and_what_is_said_of_it_is_read_or_left_out() {
    let served = Served::new().await;
    let files = [small("orders.csv"), ("files-1", "runs.json".to_owned(), runs_with_unnamed_parcels())];
    let got = served.give(&[("supplier-1", "press")], &files).await;
    assert_eq!(got.status, 303, "{}", got.body);
    let path = format!("/api/trials/{}", got.location.trim_start_matches("/try/"));
    let of_parcels = |state: &Value| {
        let points = state["points"].as_array().unwrap();
        let is_asked =
            |point: &&Value| point["question"].as_str().unwrap().contains("which list of the files");
        points.iter().find(is_asked).cloned()
    };
    let chosen_of = |state: &Value| {
        let point = of_parcels(state).unwrap_or_else(|| panic!("nothing is asked: {state}"));
        let choices = point["choices"].as_array().unwrap();
        let chosen: Vec<&Value> = choices.iter().filter(|choice| choice["is_chosen"] == true).collect();
        assert_eq!(chosen.len(), 1, "{point}");
        chosen[0]["value"].as_str().unwrap().to_owned()
    };
    let has_parcels = |state: &Value| state["sources"].to_string().contains("\"parcels.");

    let state = served.json(&path).await;
    assert!(!has_parcels(&state), "{state}");
    let asked = of_parcels(&state).unwrap_or_else(|| panic!("nothing is asked: {state}"));
    let choices = asked["choices"].as_array().unwrap();
    let list = choices.iter().find(|choice| choice["label"].to_string().contains("zz[*] of runs.json: 6"));
    let list = list.unwrap_or_else(|| panic!("{asked}"))["value"].as_str().unwrap();
    let nowhere = choices.last().unwrap()["value"].as_str().unwrap();

    let answer = format!("{}/answer", got.location);
    let said = served.post(&answer, &[("shown", "0"), ("c0", list)]).await;
    assert_eq!(said.status, 303, "{}", said.body);
    let state = served.json(&path).await;
    assert!(has_parcels(&state), "{state}");
    assert_eq!(chosen_of(&state), list, "what was said can be seen, and said otherwise");

    let said = served.post(&answer, &[("shown", "1"), ("c0", nowhere)]).await;
    assert_eq!(said.status, 303, "{}", said.body);
    let state = served.json(&path).await;
    assert!(!has_parcels(&state), "{state}");
    assert_eq!(chosen_of(&state), nowhere);
}
