//! Folders into which exchange files are put.

use std::fs::{self, File};
use std::path::Path;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use intake::source::http::World;
use intake::source::poll::{Dropped, FolderReader, PollError, tables_read};
use model::batch::Whole;
use model::{Batch, Mark, Rules};

use crate::common::*;

const SET: [(&str, &str); 3] = [
    ("orders.csv", "order_id,placed_at,status\n1001,2026-11-24T09:00:00Z,open\n"),
    ("order_lines.csv", "order_id,line_id,sku,quantity\n1001,1,AP-L,2\n"),
    ("variants.csv", "supplier,variant_id,sku\nalder-print,V1,AP-L\n"),
];

fn put(dir: &Path, name: &str, text: &str, changed: DateTime<Utc>) {
    let path = dir.join(name);
    fs::write(&path, text).unwrap();
    File::options().write(true).open(&path).unwrap().set_modified(changed.into()).unwrap();
}

fn folder() -> (tempfile::TempDir, FolderReader, Arc<Still>) {
    let dir = tempfile::tempdir().unwrap();
    for (name, text) in SET {
        put(dir.path(), name, text, at(-600));
    }
    let world = Still::at(at(0));
    let reader = FolderReader {
        shop: "kittiwake".into(),
        source: "dropped".into(),
        folder: dir.path().to_owned(),
        zone: Tz::UTC,
        rules: Rules::default(),
        exports: None,
        digest_key: b"key".to_vec(),
        world: world.clone(),
    };
    (dir, reader, world)
}

async fn read(reader: &FolderReader, mark: &Mark) -> (bool, Batch) {
    match reader.read(mark).await.unwrap() {
        Dropped::Batch { batch, .. } => (true, *batch),
        Dropped::Unchanged(batch) => (false, *batch),
        Dropped::Waiting { file } => panic!("waits for {file}"),
    }
}

#[tokio::test]
async fn a_set_of_files_is_read_once() {
    let (dir, reader, _) = folder();
    let (is_new, batch) = read(&reader, &Mark::default()).await;
    assert!(is_new);
    assert_eq!((batch.rows.orders.len(), batch.rows.order_lines.len()), (1, 1));
    assert_eq!(batch.whole, [Whole::Order("1001".into())]);
    assert_eq!((batch.everything_since, batch.mark.read_up_to), (Some(at(0)), Some(at(-600))));
    assert!(batch.seen_at >= at(0));
    let (is_new, again) = read(&reader, &batch.mark).await;
    assert!(!is_new && again.rows.orders.is_empty());
    assert_eq!(again.mark, batch.mark);

    for (name, text) in SET {
        put(dir.path(), name, text, at(-60));
    }
    let (is_new, exported_again) = read(&reader, &batch.mark).await;
    assert!(!is_new, "the same bytes");
    assert_eq!(exported_again.mark.read_up_to, Some(at(-60)));

    put(dir.path(), "order_lines.csv", &SET[1].1.replace(",2\n", ",3\n"), at(-60));
    let (is_new, changed) = read(&reader, &exported_again.mark).await;
    assert!(!is_new, "neither size nor time of change is another");
    put(dir.path(), "order_lines.csv", &SET[1].1.replace(",2\n", ",3\n"), at(-50));
    let (is_new, changed) = read(&reader, &changed.mark).await;
    assert!(is_new);
    assert_eq!(changed.rows.order_lines[0].quantity, 3);
    assert_eq!(changed.mark.read_up_to, Some(at(-60)), "the oldest of them");
}

#[tokio::test]
async fn a_table_that_is_left_out_this_time_is_not_gone() {
    let (dir, reader, _) = folder();
    let (_, batch) = read(&reader, &Mark::default()).await;
    fs::remove_file(dir.path().join("variants.csv")).unwrap();
    put(dir.path(), "links.csv", "sku,supplier,variant_id\nAP-L,alder-print,V1\n", at(-10));
    let (is_new, batch) = read(&reader, &batch.mark).await;
    assert!(is_new);
    assert_eq!(batch.everything_since, None);
}

/// A world in which a file grows while time passes.
struct Growing {
    still: Arc<Still>,
    file: Mutex<Option<std::path::PathBuf>>,
}

impl World for Growing {
    fn now(&self) -> DateTime<Utc> {
        self.still.now()
    }

    fn random(&self) -> f64 {
        0.0
    }

    fn sleep(&self, span: Duration) -> std::pin::Pin<Box<dyn Future<Output = ()> + Send + '_>> {
        if let Some(path) = self.file.lock().unwrap().take() {
            let text = fs::read_to_string(&path).unwrap();
            fs::write(&path, format!("{text}1002,2026-11-24T09:00:00Z,open\n")).unwrap();
        }
        self.still.sleep(span)
    }
}

#[tokio::test]
async fn a_file_that_still_grows_is_waited_for() {
    let (dir, mut reader, still) = folder();
    reader.world = Arc::new(Growing { still, file: Mutex::new(Some(dir.path().join("orders.csv"))) });
    let Dropped::Waiting { file } = reader.read(&Mark::default()).await.unwrap() else { panic!("was read") };
    assert_eq!(file, "orders.csv");
    let (is_new, batch) = read(&reader, &Mark::default()).await;
    assert!(is_new);
    assert_eq!(batch.rows.orders.len(), 2);
}

#[tokio::test]
async fn rows_that_cannot_be_read_are_named_and_nothing_is_kept() {
    let (dir, reader, _) = folder();
    put(dir.path(), "orders.csv", "order_id,placed_at,status\n1001,yesterday,open\n", at(-10));
    let error = reader.read(&Mark::default()).await.unwrap_err();
    let PollError::BadRows { count, .. } = &error else { panic!("{error}") };
    assert_eq!(*count, 1);
    let start = "source \"dropped\": a row of the files cannot be read, and nothing of them was kept:\n  orders.csv, \
                 line 2, column placed_at: ";
    assert!(error.to_string().starts_with(start), "{error}");

    fs::remove_file(dir.path().join("order_lines.csv")).unwrap();
    let error = reader.read(&Mark::default()).await.unwrap_err();
    assert!(matches!(error, PollError::Folder { .. }), "{error}");
}

#[tokio::test]
async fn a_table_that_is_left_out_for_longer_is_not_gone_either_and_counts_as_read() {
    let (dir, reader, _) = folder();
    let (_, batch) = read(&reader, &Mark::default()).await;
    assert_eq!(tables_read(&Mark::default()), [""; 0]);
    assert_eq!(tables_read(&batch.mark), ["order_lines", "orders", "variants"]);
    fs::remove_file(dir.path().join("variants.csv")).unwrap();
    put(dir.path(), "links.csv", "sku,supplier,variant_id\nAP-L,alder-print,V1\n", at(-10));
    let (_, batch) = read(&reader, &batch.mark).await;
    put(dir.path(), "order_lines.csv", &SET[1].1.replace(",2\n", ",33\n"), at(-5));
    let (is_new, batch) = read(&reader, &batch.mark).await;
    assert_eq!((is_new, batch.everything_since), (true, None));
    assert_eq!(tables_read(&batch.mark), ["links", "order_lines", "orders", "variants"]);
    put(dir.path(), "variants.csv", "supplier,variant_id,sku\n", at(-1));
    let (_, batch) = read(&reader, &batch.mark).await;
    assert!(batch.everything_since.is_some(), "an empty table is one");
}

#[tokio::test]
async fn another_zone_makes_a_set_be_read_again() {
    let (dir, mut reader, _) = folder();
    put(dir.path(), "orders.csv", "order_id,placed_at,status\n1001,2026-11-24,open\n", at(-10));
    let (_, batch) = read(&reader, &Mark::default()).await;
    reader.zone = Tz::Europe__Berlin;
    let (is_new, again) = read(&reader, &batch.mark).await;
    assert!(is_new);
    assert_ne!(again.rows.orders[0].placed_at, batch.rows.orders[0].placed_at);
    assert!(!read(&reader, &again.mark).await.0);
}

#[tokio::test]
async fn a_folder_may_hold_the_tables_of_one_supplier_alone_or_nothing_yet() {
    let (dir, reader, _) = folder();
    for (name, _) in SET {
        fs::remove_file(dir.path().join(name)).unwrap();
    }
    let Dropped::Unchanged(batch) = reader.read(&Mark::default()).await.unwrap() else {
        panic!("nothing is there")
    };
    assert_eq!(batch.mark.read_up_to, None);
    for (name, text) in [
        ("variants.csv", "supplier,variant_id,sku\nalder-print,V1,AP-L\n"),
        (
            "submissions.csv",
            "supplier,submission_id,status,received_at\nalder-print,S1,making,2026-11-24T09:00:00Z\n",
        ),
        ("submission_lines.csv", "supplier,submission_id,line_id,sku,quantity\nalder-print,S1,1,AP-L,2\n"),
    ] {
        put(dir.path(), name, text, at(-600));
    }
    let (_, batch) = read(&reader, &batch.mark).await;
    assert_eq!(batch.rows.submission_lines.unwrap().len(), 1);
    assert_eq!(tables_read(&batch.mark), ["submission_lines", "submissions", "variants"]);
    fs::remove_file(dir.path().join("submissions.csv")).unwrap();
    let error = reader.read(&batch.mark).await.unwrap_err().to_string();
    assert!(error.contains("submission_lines"), "{error}");
}

/// A folder whose exports are read as `fields` says.
fn exports(reader: &mut FolderReader, fields: &str) {
    let text = format!(
        "role = \"storefront\"\nfolder = \"exports\"\n[requests.orders]\nfile = \"shop-*.csv\"\n\
         group = {{ by = \"Nr\", into = \"lines\" }}\n[requests.orders.tables.orders]\nat = \"$[*]\"\n\
         fields = {{ {fields}, placed_at = \"$.Made\", status = {{ at = \"$.State\", words = {{ paid = \"open\" }} }} }}\n\
         [requests.orders.tables.order_lines]\nwithin = \"orders\"\nat = \"$.lines[*]\"\n\
         fields = {{ line_id = {{ counted = true }}, quantity = \"$.Qty\", sku = \"$.Code\" }}\n"
    );
    let declaration: intake::source::declare::Declaration = toml::from_str(&text).unwrap();
    reader.exports = Some(Arc::new(declaration.check(Tz::UTC).unwrap()));
}

#[tokio::test]
async fn exports_are_read_by_their_mapping_and_again_by_another_one() {
    let (dir, mut reader, _) = folder();
    let text = "Nr;Made;State;Code;Qty\r\n7;2026-11-24;paid;mug;1\r\n;;;cap;2\r\n8;2026-11-24;paid;mug;1\r\n";
    put(dir.path(), "shop-1.csv", text, at(-600));
    exports(&mut reader, "order_id = \"$.Nr\"");
    let (is_new, batch) = read(&reader, &Mark::default()).await;
    assert!(is_new);
    assert_eq!(batch.rows.orders.len(), 2, "the exchange files beside them are not this source's");
    let lines: Vec<String> =
        batch.rows.order_lines.iter().map(|line| format!("{}/{}", line.order_id, line.line_id)).collect();
    assert_eq!(lines, ["7/1", "7/2", "8/1"]);
    let (is_new, again) = read(&reader, &batch.mark).await;
    assert!(!is_new);
    exports(&mut reader, "order_id = { at = \"$.Nr\", pattern = \"^(.)\" }");
    assert!(read(&reader, &again.mark).await.0, "another mapping may read other rows");
}

#[tokio::test]
async fn an_export_that_does_not_fit_keeps_nothing_and_says_where() {
    let (dir, mut reader, _) = folder();
    let text = "Nr;Made;State;Code;Qty\n7;2026-11-24;paid;mug;one\n";
    put(dir.path(), "shop-1.csv", text, at(-600));
    exports(&mut reader, "order_id = \"$.Nr\"");
    let error = reader.read(&Mark::default()).await.unwrap_err().to_string();
    assert!(error.contains("shop-1.csv, line 2, column quantity"), "{error}");
}
