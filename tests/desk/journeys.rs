//! What a rep goes through in a week, in a browser: each journey at desk and telephone width, by mouse and by keyboard alone, with scripts and
//! without. What must hold: nothing typed is lost, and what is urgent comes first. Set-up as in `browser`.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::deskside::{DeskRun, PASSWORD, list, programme, with_passwords};
use crate::driver::{Driver, accessible, axe, fits, picture, skipped, submit, text};
use fantoccini::key::Key;
use fantoccini::{Client, Locator};
use std::collections::HashMap;

/// How a journey is walked.
#[derive(Debug, Clone, Copy)]
struct Way {
    width: u32,
    keyboard: bool,
    scripts: bool,
}

const WAYS: [Way; 4] = [
    Way {
        width: 1280,
        keyboard: false,
        scripts: true,
    },
    Way {
        width: 360,
        keyboard: false,
        scripts: true,
    },
    Way {
        width: 1280,
        keyboard: true,
        scripts: false,
    },
    Way {
        width: 360,
        keyboard: true,
        scripts: true,
    },
];

/// Somebody at a page.
struct Hand {
    client: Client,
    engine: String,
    way: Way,
    /// The browser's own files, kept as long as it runs.
    _profile: tempfile::TempDir,
}

type Row = HashMap<String, String>;

impl Hand {
    async fn new(driver: &Driver, way: Way) -> Self {
        let (client, profile) = driver.browser(way.width, way.scripts).await;
        Self {
            client,
            engine: axe(),
            way,
            _profile: profile,
        }
    }

    async fn element(&self, css: &str) -> fantoccini::elements::Element {
        let found = self.client.wait().for_element(Locator::Css(css)).await;
        found.unwrap_or_else(|error| panic!("{css} in {:?}: {error}", self.way))
    }

    async fn press(&self, key: Key) {
        let at = self.client.active_element().await.unwrap();
        at.send_keys(&String::from(char::from(key))).await.unwrap();
    }

    /// Goes on by tab until `there` has the focus.
    async fn tab_to(&self, css: &str) {
        let wanted = self.element(css).await.element_id();
        for _ in 0..150 {
            if self.client.active_element().await.unwrap().element_id() == wanted {
                return;
            }
            self.press(Key::Tab).await;
        }
        panic!("{css} is not reached by tab in {:?}", self.way);
    }

    /// Presses a button or follows a link that leads to another page.
    async fn go(&self, css: &str) {
        if !self.way.keyboard {
            return submit(&self.client, css).await;
        }
        self.tab_to(css).await;
        let page = self.element("html").await;
        self.press(Key::Enter).await;
        for _ in 0..300 {
            if page.tag_name().await.is_err() {
                return;
            }
            tokio::time::sleep(std::time::Duration::from_millis(50)).await;
        }
        panic!("{css}: no other page came in 15 seconds, {:?}", self.way)
    }

    /// Chooses a radio or ticks a box.
    async fn choose(&self, name: &str, value: &str) {
        let css = format!("input[name='{name}'][value='{value}']");
        if !self.way.keyboard {
            let tile = self.element(&format!("{css} + span")).await;
            return tile.click().await.unwrap();
        }
        let wanted = self.element(&css).await;
        if wanted.attr("type").await.unwrap().as_deref() == Some("checkbox") {
            self.tab_to(&css).await;
            return self.press_space().await;
        }
        // A group of radios is one stop; its arrows go round.
        for _ in 0..150 {
            let at = self.client.active_element().await.unwrap();
            if at.attr("name").await.unwrap().as_deref() == Some(name) {
                break;
            }
            self.press(Key::Tab).await;
        }
        for _ in 0..20 {
            if self.client.active_element().await.unwrap().element_id() == wanted.element_id() {
                return self.press_space().await;
            }
            self.press(Key::Down).await;
        }
        panic!("{css} is not reached by the arrows in {:?}", self.way);
    }

    async fn press_space(&self) {
        self.client
            .active_element()
            .await
            .unwrap()
            .send_keys(" ")
            .await
            .unwrap();
    }

    async fn type_in(&self, css: &str, words: &str) {
        if self.way.keyboard {
            self.tab_to(css).await;
        }
        self.element(css).await.send_keys(words).await.unwrap();
    }

    async fn value(&self, css: &str) -> String {
        self.element(css).await.prop("value").await.unwrap().unwrap_or_default()
    }

    async fn checked(&self, name: &str, value: &str) -> bool {
        let css = format!("input[name='{name}'][value='{value}']");
        let found = self.client.find_all(Locator::Css(&css)).await.unwrap();
        let Some(found) = found.first() else { return false };
        // What another question was told stands in a hidden field.
        found.attr("type").await.unwrap().as_deref() == Some("hidden")
            || found.prop("checked").await.unwrap().as_deref() == Some("true")
    }

    async fn text(&self, css: &str) -> String {
        text(&self.client, css).await
    }

    async fn focus(&self) -> String {
        let at = self.client.active_element().await.unwrap();
        at.attr("id").await.unwrap().unwrap_or_default()
    }

    /// What every page of a journey must hold, where scripts run to look at it.
    async fn look(&self, page: &str) {
        if self.way.scripts {
            accessible(&self.client, &self.engine, page).await;
            fits(&self.client, page).await;
            picture(&self.client, &format!("{}-{page}", self.way.width)).await;
        }
    }

    /// Looks somebody up and opens the first hit.
    async fn open(&self, desk: &DeskRun, asked: &str) {
        self.client.goto(&desk.url("/phone")).await.unwrap();
        assert_eq!(
            self.focus().await,
            "q",
            "the search field has not the focus, {:?}",
            self.way
        );
        self.type_in("#q", asked).await;
        self.go(".find button").await;
        assert_eq!(self.focus().await, "found-h");
        self.go(".hits a").await;
    }

    async fn name_oneself(&self) {
        if self.client.find(Locator::Css("#by")).await.is_ok() && self.value("#by").await.is_empty() {
            self.type_in("#by", "Rosa").await;
        }
    }
}

/// Rows that a caller can be told apart by.
fn callers(desk: &DeskRun) -> Vec<Row> {
    let rows = list(&desk.assemblies);
    let known = |row: &Row| {
        let kind = row["device_type"].trim().to_uppercase();
        let fire = row["service"].to_lowercase().starts_with("fi") || kind.ends_with("DA");
        let once = |name: &str| rows.iter().filter(|other| other[name] == row[name]).count() == 1;
        !row["site_address"].is_empty()
            && row["critical"].is_empty()
            && !fire
            && once("assembly_id")
            && once("site_address")
    };
    rows.iter().filter(|row| known(row)).cloned().collect()
}

async fn walked(driver: &Driver, walk: impl AsyncFn(Hand, Way)) {
    for way in WAYS {
        walk(Hand::new(driver, way).await, way).await;
    }
}

/// Whoever is looked for stands first, with the reason, however it was told.
#[tokio::test(flavor = "multi_thread")]
async fn a_caller_is_found_by_the_end_of_a_number_the_tag_the_phone_or_a_misspelt_street() {
    if skipped() {
        return;
    }
    let (driver, folder) = (Driver::start(), programme(60));
    let desk = DeskRun::start_without_weather(folder.path(), &[]);
    let rows = callers(&desk);
    let apart = |row: &&Row| {
        let street: Vec<char> = row["site_address"]
            .split_once(' ')
            .unwrap_or_default()
            .1
            .chars()
            .collect();
        row["account_id"].starts_with('0') && row["serial"].len() > 4 && street.len() > 8 && street[1] != street[2]
    };
    let row = rows.iter().find(apart).unwrap();
    let (number, street) = row["site_address"].split_once(' ').unwrap();
    let mut slip: Vec<char> = street.chars().collect();
    slip.swap(1, 2);
    let misspelt = format!("{number} {}", slip.into_iter().collect::<String>());
    walked(&driver, async |hand, _| {
        for (asked, why) in [
            (row["assembly_id"][3..].to_owned(), "ends so"),
            (row["account_id"].trim_start_matches('0').to_owned(), "as typed"),
            (row["serial"].to_lowercase(), "as typed"),
            (misspelt.clone(), "slip of typing"),
        ] {
            hand.client.goto(&desk.url("/phone")).await.unwrap();
            hand.type_in("#q", &asked).await;
            hand.go(".find button").await;
            let hits = hand.client.find_all(Locator::Css(".hits li")).await.unwrap();
            // Several may share an account: one of the first must be the row.
            let mut told = Vec::new();
            for hit in hits.iter().take(5) {
                told.push(hit.text().await.unwrap());
            }
            let fits = |hit: &String| hit.contains(&row["assembly_id"]) && hit.contains(why);
            assert!(told.iter().any(fits), "{asked} ({why}): {told:#?}");
        }
        hand.look("found-misspelt").await;
        hand.client.close().await.unwrap();
    })
    .await;
}

/// Gushing water: answered from three questions, and the record that was begun before is still there when it is saved.
#[tokio::test(flavor = "multi_thread")]
async fn gushing_water_is_answered_at_once_and_the_record_begun_before_is_kept() {
    if skipped() {
        return;
    }
    let (driver, folder) = (Driver::start(), programme(60));
    let desk = DeskRun::start_without_weather(folder.path(), &[]);
    let rows = callers(&desk);
    walked(&driver, async |hand, way| {
        let at = WAYS
            .iter()
            .position(|each| each.width == way.width && each.keyboard == way.keyboard)
            .unwrap();
        hand.open(&desk, &rows[at]["assembly_id"]).await;
        assert!(hand.text("#card-h").await.contains(&rows[at]["site_address"]));
        hand.look("call-opened").await;
        // What the caller says first is written down before anything is asked, and asked for after it.
        hand.name_oneself().await;
        hand.type_in("#words", "It shoots up like a fountain").await;
        hand.go(".questions button[value='next']").await;
        assert_eq!(hand.focus().await, "ask-h", "{way:?}");
        assert!(hand.client.title().await.unwrap().starts_with("Question 2 of 9"));
        hand.choose("where", "ground").await;
        hand.go(".questions button[value='next']").await;
        hand.choose("rate", "gushing").await;
        hand.go(".questions button.alarm").await;
        assert_eq!(hand.focus().await, "answer-h", "{way:?}");
        assert!(
            hand.client.title().await.unwrap().starts_with("Now: "),
            "{:?}",
            hand.client.title().await
        );
        let answer = hand.text("#answer").await;
        assert!(answer.contains("crew") && answer.contains("555-0199"), "{answer}");
        assert_eq!(
            hand.element("#answer .line a")
                .await
                .attr("href")
                .await
                .unwrap()
                .as_deref(),
            Some("tel:2015550199")
        );
        hand.look("call-gushing").await;
        assert_eq!(hand.value("#words").await, "It shoots up like a fountain", "{way:?}");
        assert!(
            hand.value("#text").await.contains("(now)"),
            "{}",
            hand.value("#text").await
        );
        // Another answer: our words of it follow, the caller's stay.
        hand.go(".so-far button[value='to-2']").await;
        hand.choose("rate", "20 drops/min").await;
        hand.go(".questions button.alarm").await;
        assert!(
            !hand.value("#text").await.contains("(now)"),
            "{}",
            hand.value("#text").await
        );
        assert_eq!(hand.value("#words").await, "It shoots up like a fountain");
        // Return in a line of the record neither asks on nor loses anything.
        if way.keyboard {
            hand.type_in("#caller", "Mrs. Teal").await;
            let page = hand.element("html").await;
            hand.press(Key::Enter).await;
            while page.tag_name().await.is_ok() {
                tokio::time::sleep(std::time::Duration::from_millis(50)).await;
            }
            assert_eq!(hand.value("#caller").await, "Mrs. Teal");
            assert!(
                hand.client.find(Locator::Css("#answer-h")).await.is_ok(),
                "return took the answer away"
            );
        } else {
            hand.type_in("#caller", "Mrs. Teal").await;
        }
        hand.go(".note button").await;
        let card = hand.text(".card").await;
        assert!(
            card.contains("It shoots up like a fountain") && card.contains("Mrs. Teal"),
            "{card}"
        );
        assert_eq!(
            hand.value("#words").await,
            "",
            "the next call begins with the last one's words"
        );
        hand.client.close().await.unwrap();
    })
    .await;
}

/// A change of language or of units keeps what was told, what was typed, and what a number meant.
#[tokio::test(flavor = "multi_thread")]
async fn a_change_of_language_keeps_the_answers_the_record_and_the_meaning_of_a_number() {
    if skipped() {
        return;
    }
    let (driver, folder) = (Driver::start(), programme(60));
    let desk = DeskRun::start_without_weather(folder.path(), &[]);
    let rows = callers(&desk);
    walked(&driver, async |hand, way| {
        hand.open(&desk, &rows[0]["assembly_id"]).await;
        hand.go(".questions button[value='all']").await;
        hand.choose("where", "freeze-drip").await;
        hand.choose("when", "cold-nights").await;
        hand.type_in("#air", "24").await;
        hand.type_in("#words", "gotea de noche").await;
        hand.go(".questions > .act:last-of-type button").await;
        let answer = hand.text("#answer-h").await;
        set(&hand, "es", "si").await;
        assert_eq!(
            hand.element("html").await.attr("lang").await.unwrap().as_deref(),
            Some("es")
        );
        assert_ne!(hand.text("#answer-h").await, answer, "the answer is not in Spanish");
        assert!(
            hand.checked("where", "freeze-drip").await && hand.checked("when", "cold-nights").await,
            "{way:?}"
        );
        assert_eq!(hand.value("#air").await, "24 F", "24 °F must not become 24 °C");
        assert_eq!(hand.value("#words").await, "gotea de noche");
        hand.look("language-changed").await;
        // Before any answer, at a question.
        hand.go(".questions button[value='one']").await;
        hand.go(".questions button[value='next']").await;
        let question = hand.text("#ask-h").await;
        set(&hand, "en", "us").await;
        assert_ne!(hand.text("#ask-h").await, question);
        assert!(hand.client.title().await.unwrap().starts_with("Question 2 of 9"));
        assert!(hand.client.find(Locator::Css("#answer-h")).await.is_err());
        assert!(hand.checked("where", "freeze-drip").await);
        // The plumber's form, half filled.
        hand.client.goto(&desk.url("/expansion")).await.unwrap();
        hand.type_in("#f-heater", "50").await;
        set(&hand, "es", "si").await;
        assert_eq!(hand.value("#f-heater").await, "50 gal");
        // What was searched for.
        hand.client.goto(&desk.url("/phone")).await.unwrap();
        hand.type_in("#q", &rows[0]["assembly_id"]).await;
        hand.go(".find button").await;
        set(&hand, "en", "us").await;
        assert!(hand.text(".hits").await.contains(&rows[0]["assembly_id"]));
        hand.client.close().await.unwrap();
    })
    .await;
}

async fn set(hand: &Hand, language: &str, units: &str) {
    for (name, value) in [("language", language), ("units", units)] {
        let css = format!(".settings select[name='{name}']");
        if hand.way.keyboard {
            hand.tab_to(&css).await;
            // Up to the first, then down to the one wanted: as the arrows of a list go.
            let at = ["en", "us"].contains(&value);
            hand.press(if at { Key::Home } else { Key::Down }).await;
        } else {
            hand.element(&css).await.select_by_value(value).await.unwrap();
        }
    }
    hand.go(".settings button").await;
}

/// A call about no assembly of the list has a record, its call-back leads the start page and ends when it is kept, not when nobody answered.
#[tokio::test(flavor = "multi_thread")]
async fn a_call_about_a_neighbours_leak_is_recorded_and_its_call_back_ends_when_it_is_kept() {
    if skipped() {
        return;
    }
    let driver = Driver::start();
    walked(&driver, async |hand, _| {
        let folder = programme(40);
        let desk = DeskRun::start_without_weather(folder.path(), &[]);
        hand.client.goto(&desk.url("/phone")).await.unwrap();
        hand.go(".find a.button").await;
        hand.name_oneself().await;
        hand.type_in("#about", "14 Nowhere Lane").await;
        hand.type_in("#words", "water on my neighbour's steps").await;
        let follow = "#follow";
        if hand.way.keyboard {
            hand.tab_to(follow).await;
            hand.press(Key::Down).await;
        } else {
            hand.element(follow).await.select_by_value("4").await.unwrap();
        }
        hand.go(".note button").await;
        let owed = hand.text(".owed").await;
        assert!(
            owed.contains("14 Nowhere Lane") && owed.contains("neighbour's steps"),
            "{owed}"
        );
        hand.look("call-back").await;
        hand.go(".owed button[value='tried']").await;
        assert!(hand.text(".owed").await.contains("tried once"));
        hand.go(".owed button[value='kept']").await;
        assert!(
            hand.client.find(Locator::Css(".owed")).await.is_err(),
            "a call-back that was kept is still owed"
        );
        hand.client.close().await.unwrap();
    })
    .await;
}

/// The desk is restarted under a rep who is writing: what was typed is offered again after the sign-in, sent, and stands on the card; without
/// sign-in the same.
#[tokio::test(flavor = "multi_thread")]
async fn a_note_typed_before_a_restart_is_offered_again_with_and_without_sign_in() {
    if skipped() {
        return;
    }
    let driver = Driver::start();
    for passwords in [true, false] {
        walked(&driver, async |hand, way| {
            let folder = programme(40);
            let file = with_passwords(folder.path(), &["rosa"]);
            let arguments: Vec<&str> = if passwords {
                vec!["--password-file", &file]
            } else {
                Vec::new()
            };
            let mut desk = DeskRun::start_without_weather(folder.path(), &arguments);
            let sign_in = async || {
                hand.type_in("#name", "rosa").await;
                hand.type_in("#password", PASSWORD).await;
                hand.go("main form button").await;
            };
            if passwords {
                hand.client.goto(&desk.url("/phone")).await.unwrap();
                sign_in().await;
            }
            let row = callers(&desk)[0].clone();
            hand.open(&desk, &row["assembly_id"]).await;
            hand.name_oneself().await;
            hand.type_in("#words", "the gate key hangs inside").await;
            desk.kill();
            let address = desk.address.to_string();
            let again: Vec<&str> = arguments.iter().copied().chain(["--bind", &address]).collect();
            let _desk = DeskRun::start_without_weather(folder.path(), &again);
            hand.go(".note button").await;
            if passwords {
                hand.look("sign-in-again").await;
                sign_in().await;
            }
            assert!(hand.text("main").await.contains("the gate key hangs inside"), "{way:?}");
            hand.look("offered-again").await;
            hand.go("main form button").await;
            let card = hand.text(".card").await;
            assert!(
                card.contains("the gate key hangs inside") && card.contains(&row["assembly_id"]),
                "{card}"
            );
            hand.client.close().await.unwrap();
        })
        .await;
    }
}

/// With a log that cannot be read every page says so, and a note that it does not take stands there to be saved again.
#[tokio::test(flavor = "multi_thread")]
async fn a_log_that_cannot_be_read_is_warned_of_on_every_page() {
    if skipped() {
        return;
    }
    let driver = Driver::start();
    walked(&driver, async |hand, way| {
        let folder = programme(40);
        let desk = DeskRun::start_without_weather(folder.path(), &[]);
        let row = callers(&desk)[0].clone();
        crate::calls::spoil(&desk.log);
        hand.open(&desk, &row["assembly_id"]).await;
        let card = hand.client.current_url().await.unwrap();
        for page in [
            desk.url("/phone"),
            desk.url("/phone/drip"),
            card.to_string(),
            desk.url("/expansion"),
            desk.url("/plan/calls"),
        ] {
            hand.client.goto(&page).await.unwrap();
            let warned = hand.text(".notices").await;
            assert!(
                warned.contains("The log of contacts cannot be used now"),
                "{page} {way:?}: {warned}"
            );
            hand.look(&format!("log-unread{}", page.matches('/').count())).await;
        }
        hand.client.close().await.unwrap();
    })
    .await;
}
