//! `junit.xml`: a suite a profile, a test case a requirement.

use quick_junit::{
    NonSuccessKind, Property, Report as Document, TestCase, TestCaseStatus, TestSuite,
};

use super::{ProfileReport, Report, ReportError, words};
use crate::requirement::{Judgement, Verdict};

pub(super) fn document(report: &Report) -> Result<String, ReportError> {
    let mut document = Document::new("glowsill: simulation and teaching only, not a certification");
    for profile in &report.profiles {
        document.add_test_suite(suite(profile));
    }
    document.to_string().map_err(|error| ReportError::Encode {
        what: "junit.xml".to_owned(),
        reason: error.to_string(),
    })
}

fn suite(profile: &ProfileReport) -> TestSuite {
    let mut suite = TestSuite::new(profile.name());
    let flag = if profile.expected_to_fail {
        "true"
    } else {
        "false"
    };
    suite.add_property(Property::new("there-to-fail", flag));
    for judgement in &profile.judgements {
        suite.add_test_case(case(profile, judgement));
    }
    suite
}

fn case(profile: &ProfileReport, judgement: &Judgement) -> TestCase {
    let sentence = judgement.verdict.sentence();
    let requirement = &judgement.requirement;
    let status = match judgement.verdict {
        Verdict::Pass(_) => TestCaseStatus::success(),
        Verdict::Fail(_) => {
            let mut status = TestCaseStatus::non_success(NonSuccessKind::Failure);
            let mark = if profile.expected_to_fail {
                "There to fail. "
            } else {
                ""
            };
            status.set_message(format!("{mark}{sentence}"));
            status.set_type("limit");
            status.set_description(format!(
                "{}\nSource: {}",
                requirement.title, requirement.source
            ));
            status
        }
        Verdict::NotEvaluated { .. } => {
            let mut status = TestCaseStatus::skipped();
            status.set_message(format!("Not evaluated: {sentence}"));
            status
        }
    };
    let mut case = TestCase::new(requirement.id.as_str(), status);
    case.set_classname(format!(
        "{}.{}",
        words::slug(profile.name()),
        requirement.measure
    ));
    if let Verdict::Pass(_) = judgement.verdict {
        case.set_system_out(sentence);
    }
    case
}
