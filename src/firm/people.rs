//! Who works, by which procedure, and who signs.

use super::{Person, Procedure, Role};
use crate::problem::Problem;
use crate::yaml::{At, Text};

/// A procedure, in a firm file or a visit: `{name, revision}`.
pub fn procedure(at: &At<'_>) -> Option<Procedure> {
    let mut keys = at.keys("a procedure like {name: …, revision: \"1.10\"}")?;
    let name = keys
        .need("name", "a certificate names the procedure that was used (ISO/IEC 17025:2017, 7.8.2.1 f)")
        .and_then(|at| at.text());
    let revision = keys.get("revision").and_then(|at| at.text());
    keys.finish();
    Some(Procedure { name: name?, revision })
}

/// People with their qualification, by name.
pub(super) fn people(at: &At<'_>) -> Vec<Person> {
    let Some(mut keys) = at.keys("a list by name like `A. Name: {qualification: …}`") else {
        return Vec::new();
    };
    let entries = keys.entries();
    keys.finish();
    let person = |(name, at): (Text, At<'_>)| {
        let mut keys = at.keys("a person like {qualification: …}")?;
        let qualification = keys.get("qualification").and_then(|at| at.text());
        keys.finish();
        Some(Person { name, qualification })
    };
    entries.into_iter().filter_map(person).collect()
}

/// The roles whose signatures end the draft.
pub(super) fn signatures(at: &At<'_>) -> Option<Vec<Role>> {
    let listed = at.list("signatures like [performed, authorised]")?;
    let mut roles = Vec::new();
    for entry in &listed {
        let Some(role) = entry.word("the role of a signature", Role::WORDS) else {
            continue;
        };
        if !roles.contains(&role) {
            roles.push(role);
            continue;
        }
        entry.tell(Problem::error(
            "signature-twice",
            &entry.place(),
            format!("found `{}` a second time", role.word()),
            "each role signs once",
            "remove the second one",
        ));
    }
    if listed.is_empty() {
        at.tell(Problem::error(
            "no-signature",
            &at.place(),
            "found an empty list",
            "a document that nobody signs for stays a draft",
            "write [performed], or leave the key out",
        ));
    }
    (!roles.is_empty()).then_some(roles)
}

#[cfg(test)]
mod tests {
    use crate::firm::tests::{error, read};

    #[test]
    fn each_role_signs_once() {
        assert_eq!(
            read("signatures: [performed, performed]").1,
            error("signature-twice", 1, 25, "remove the second one")
        );
        assert_eq!(read("signatures: []").1, error("no-signature", 1, 13, "write [performed], or leave the key out"));
        assert_eq!(read("signatures: performed").1, error("expected-list", 1, 13, "write [performed]"));
        let fix = "did you mean `authorised`? allowed: performed, reviewed, authorised, received";
        assert_eq!(read("signatures: [authorized]").1, error("unknown-word", 1, 14, fix));
    }
}
