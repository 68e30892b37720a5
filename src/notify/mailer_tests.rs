use super::*;
use chrono::{TimeZone, Utc};

fn mail() -> Mail {
    Mail {
        message_id: "<0190a7b0-0000-7000-8000-000000000001@chock.example.org>".to_owned(),
        date: Utc.with_ymd_and_hms(2026, 11, 25, 14, 5, 9).unwrap(),
        to_name: "Ama Osei".to_owned(),
        to_address: "ama@example.org".to_owned(),
        subject: "U-07 is out of service".to_owned(),
        text: "Do not use it.\n".to_owned(),
        html: "<p>Do not use it.</p>".to_owned(),
    }
}

/// A folder of this test alone, gone with it.
struct Scratch(PathBuf);

impl Scratch {
    fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("chock-{name}-{}", std::process::id()));
        let _ = std::fs::remove_dir_all(&path);
        Self(path)
    }

    fn names(&self) -> Vec<String> {
        let mut names: Vec<String> = std::fs::read_dir(&self.0)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }
}

impl Drop for Scratch {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

#[tokio::test]
async fn a_folder_holds_one_file_a_mail_however_often_it_is_sent() {
    let scratch = Scratch::new("folder");
    let folder = Folder::new(scratch.0.join("mail"), "Chock <chock@example.org>").unwrap();
    for _ in 0..2 {
        let answer = folder.send(&mail()).await.unwrap();
        assert_eq!(answer, "written to 0190a7b0-0000-7000-8000-000000000001.eml");
    }
    let inner = Scratch(scratch.0.join("mail"));
    assert_eq!(
        inner.names(),
        ["0190a7b0-0000-7000-8000-000000000001.eml"],
        "and nothing half-written beside it"
    );
    let kept = std::fs::read_to_string(inner.0.join(&inner.names()[0])).unwrap();
    assert!(kept.contains("To: \"Ama Osei\" <ama@example.org>\r\n"), "{kept}");
    assert!(kept.contains("From: Chock <chock@example.org>\r\n"), "{kept}");
}

#[tokio::test]
async fn a_folder_that_can_not_be_written_is_tried_again_later() {
    let scratch = Scratch::new("blocked");
    std::fs::write(&scratch.0, "a file where the folder should be").unwrap();
    let folder = Folder::new(&scratch.0, "chock@example.org").unwrap();
    let error = folder.send(&mail()).await.unwrap_err();
    assert!(!error.permanent, "{error}");
    std::fs::remove_file(&scratch.0).unwrap();
    folder.send(&mail()).await.expect("works once the cause is gone");
}

#[tokio::test]
async fn a_mail_can_not_choose_where_it_is_written() {
    let scratch = Scratch::new("escape");
    let folder = Folder::new(&scratch.0, "chock@example.org").unwrap();
    let error =
        folder.send(&Mail { message_id: "<../../x@example.org>".to_owned(), ..mail() }).await.unwrap_err();
    assert!(error.permanent, "{error}");
    assert!(!scratch.0.exists());
}

#[tokio::test]
async fn memory_answers_as_told_and_keeps_only_what_it_accepted() {
    let memory = Memory::new();
    memory.answer_next(Err(SendError::later("451 try later")));
    memory.answer_next(Err(SendError::never("550 nobody")));
    memory.answer_next(Ok("250 fine".to_owned()));
    assert!(!memory.send(&mail()).await.unwrap_err().permanent);
    assert!(memory.send(&mail()).await.unwrap_err().permanent);
    assert!(memory.sent().is_empty());
    assert_eq!(memory.send(&mail()).await.unwrap(), "250 fine");
    assert_eq!(memory.sent(), [mail()]);
}

#[test]
fn a_sender_is_one_address() {
    for good in ["chock@example.org", "Chock <chock@example.org>", "\"Chock, Fenside\" <chock@example.org>"] {
        assert!(sender(good).is_ok(), "{good}");
    }
    for bad in [
        "",
        "Chock",
        "a@example.org, b@example.org",
        "Chock <chock@example.org>\r\nBcc: <x@example.org>",
        "Chock\n<a@example.org>",
    ] {
        assert!(sender(bad).is_err(), "{bad:?}");
    }
}

#[test]
fn an_answer_is_one_line_and_no_novel() {
    let error = SendError::never(format!("550 no\r\n{}", "x".repeat(10_000)));
    assert!(error.answer.chars().count() <= 300 && !error.answer.contains(['\r', '\n']));
}
