//! The owner's own JSON for a chat room.

use digest::deliver::{Message, Template, Unfit, WebAddress, Webhook};
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::*;

fn filled(template: Template, message: &Message) -> Value {
    let address = WebAddress::parse("http://127.0.0.1:1/").unwrap();
    serde_json::from_slice(&Webhook::room(address, template).unwrap().body(message)).unwrap()
}

#[test]
fn places_are_filled_in_texts_alone() {
    let template = r#"{
        "{subject}": "{subject}", "day": "on {day}", "blocks": [{"type": "text", "at": "{link}"}, "{{day}}", 3, null, true],
        "both": "{subject}: {subject}"
    }"#;
    assert_eq!(
        filled(Template::parse(template).unwrap(), &message()),
        json!({
            "{subject}": "2 orders go out incomplete; first by 14:00",
            "day": "on 2026-11-26",
            "blocks": [{"type": "text", "at": "http://127.0.0.1:8090/"}, "{day}", 3, null, true],
            "both": "2 orders go out incomplete; first by 14:00: 2 orders go out incomplete; first by 14:00",
        })
    );
    let mut message = message();
    message.link = None;
    let template = Template::parse(r#"["{text}{link}"]"#).unwrap();
    assert_eq!(filled(template, &message), json!([message.text.trim_end()]));
}

#[test]
fn what_is_wrong_with_a_template_is_said_with_its_place() {
    for (text, want, help) in [
        (
            r#"{"a": {"b/c": ["{subjet}"]}}"#,
            "the template has the placeholder {subjet} at /a/b~1c/0, which there is not",
            "did you mean {subject}?",
        ),
        (
            r#"["{Text}"]"#,
            "the template has the placeholder {Text} at /0, which there is not",
            "did you mean {text}?",
        ),
        (
            r#"["{customer}"]"#,
            "the template has the placeholder {customer} at /0, which there is not",
            "there are {subject}, {text}, {day} and {link}; write {{ and }} for braces that are to be seen",
        ),
        (r#"["{text} {"]"#, "the template has a single { at /0", "write {{ for a { that is to be seen"),
        (r#"["{text} }"]"#, "the template has a single } at /0", "write }} for a } that is to be seen"),
        (r#"["{}"]"#, "the template has a single { at /0", "write {{ for a { that is to be seen"),
        (
            r#"{"text": "good morning", "day": "{day}"}"#,
            "the template shows neither {subject} nor {text}",
            "put {subject} or {text} where the room shows it",
        ),
        (
            r#""{text}""#,
            "the template is no JSON: it is a single value",
            r#"write the JSON that the chat room expects, such as {"text": "{subject}\n{text}"}"#,
        ),
    ] {
        let error = Template::parse(text).unwrap_err();
        assert_eq!((error.to_string().as_str(), error.help().as_str()), (want, help));
    }
    assert!(matches!(Template::parse("{text}"), Err(Unfit::TemplateJson(_))));
    assert!(matches!(
        Template::parse(&format!("[\"{{text}}{}\"]", "x".repeat(20_000))),
        Err(Unfit::TemplateSize(_))
    ));
    assert!(matches!(Template::parse(r#"["{text}"]"#).unwrap().at_most(99), Err(Unfit::TemplateSize(_))));
}

#[test]
fn a_text_that_is_too_long_is_cut_and_says_so_and_what_stands_behind_it_stays() {
    let mut message = message();
    message.text = "word ".repeat(1_000);
    let template =
        Template::parse(r#"["{subject}\n{text}\n{link}", "{subject}"]"#).unwrap().at_most(300).unwrap();
    let filled = filled(template, &message);
    let text = filled[0].as_str().unwrap();
    assert!(text.chars().count() <= 300, "{text}");
    assert!(text.starts_with("2 orders go out incomplete; first by 14:00\nword word"), "{text}");
    assert!(text.ends_with("more characters\nhttp://127.0.0.1:8090/"), "{text}");
    let (kept, said) = text.split_once("\n… cut here: ").unwrap();
    let kept = kept.split_once('\n').unwrap().1.chars().count();
    let gone: usize = said.split(' ').next().unwrap().parse().unwrap();
    assert_eq!(kept + gone, message.text.trim_end().chars().count());
    assert_eq!(filled[1], message.subject);
}

proptest! {
    #[test]
    fn whatever_a_message_says_stays_text_and_is_not_too_long(
        subject in ".{0,300}", text in "(?s).{0,600}", link in proptest::option::of(".{0,300}"), length in 100_usize..500,
    ) {
        let mut message = message();
        (message.subject, message.text, message.link) = (subject, text, link);
        let json = r#"{"a": "{subject} {text} {link}", "b": ["{text}{text}"], "c": "{link}{day}", "d": 1}"#;
        let filled = filled(Template::parse(json).unwrap().at_most(length).unwrap(), &message);
        let members: Vec<&String> = filled.as_object().unwrap().keys().collect();
        prop_assert_eq!(members, ["a", "b", "c", "d"]);
        for text in [&filled["a"], &filled["b"][0], &filled["c"]] {
            let text = text.as_str().unwrap();
            prop_assert!(text.chars().count() <= length, "{} > {}: {}", text.chars().count(), length, text);
            prop_assert!(!text.contains(|c: char| c.is_control() && c != '\n'));
        }
        prop_assert_eq!(&filled["d"], &json!(1));
    }
}
