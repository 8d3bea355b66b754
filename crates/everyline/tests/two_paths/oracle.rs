//! What the matcher's random books are made of.

#[path = "../../../matcher/tests/oracle/case.rs"]
#[expect(dead_code, reason = "shared with the matcher's tests, which use all of it")]
pub mod case;
