//! Telling that all is well.

use std::time::Duration;

use digest::deliver::{Asking, Beat, Heartbeat, WebAddress, WebLimits};
use tokio::net::TcpListener;
use wiremock::matchers::any;
use wiremock::{Mock, MockServer, ResponseTemplate};

use crate::CANARY;

fn heartbeat(base: &str, asking: Asking) -> Heartbeat {
    let heartbeat =
        Heartbeat::new(WebAddress::parse(&format!("{base}/beat/{CANARY}")).unwrap(), asking).unwrap();
    assert!(!format!("{heartbeat:?}").contains(CANARY));
    heartbeat
}

#[tokio::test]
async fn a_beat_is_heard_or_it_is_said_why_not() {
    for (code, want) in [
        (200, None),
        (204, None),
        (302, Some("127.0.0.1 sends it on to another address (302), which is not followed")),
        (404, Some("127.0.0.1 does not take it (404)")),
        (503, Some("127.0.0.1 does not take it (503)")),
    ] {
        for asking in [Asking::Get, Asking::Post] {
            let server = MockServer::start().await;
            let response = ResponseTemplate::new(code).insert_header("location", "/").set_body_string(CANARY);
            Mock::given(any()).respond_with(response).mount(&server).await;
            let beat = heartbeat(&server.uri(), asking).beat().await;
            let want = want.map_or(Beat::Heard, |why| Beat::Unheard { why: why.to_owned() });
            assert_eq!(beat, want);
            let requests = server.received_requests().await.unwrap();
            assert_eq!(requests.len(), 1);
            let method = if asking == Asking::Get { "GET" } else { "POST" };
            assert_eq!(requests[0].method.as_str(), method);
            assert!(requests[0].body.is_empty());
        }
    }
}

#[tokio::test]
async fn nobody_is_waited_for_long() {
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let base = format!("http://{}", listener.local_addr().unwrap());
    let soon = Duration::from_millis(300);
    let limits = WebLimits { connect: soon, whole: soon };
    let beat = heartbeat(&base, Asking::Get).within(limits).unwrap().beat().await;
    assert_eq!(beat, Beat::Unheard { why: "127.0.0.1 did not answer within 300 ms".to_owned() });
}
