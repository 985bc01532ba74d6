//! `turfplat product new`, `check`, `schema`: your own label as a file.

use std::fs;
use std::io::{self, BufRead, IsTerminal, Write};
use std::path::{Path, PathBuf};

use anyhow::{Context, bail};
use turfplat::dose::{Draft, Product, QUESTIONS, Question, TEMPLATE, product_schema};

use crate::{Output, Verdict, files, reference};

/// Write, check or describe a product file: what your label says
#[derive(clap::Args)]
#[command(after_help = "Example:\n  turfplat product schema")]
pub(crate) struct Args {
    #[command(subcommand)]
    what: What,
}

#[derive(clap::Subcommand)]
enum What {
    /// Ask what the label says and write a product file; without a terminal, write a template
    #[command(after_help = "Example:\n  turfplat product new my-regulator.toml")]
    New {
        /// File to write; it must not be there yet [default: the answer on standard output]
        file: Option<PathBuf>,
    },
    /// List what a product file gives, what it does not give, and what can hardly be meant
    #[command(after_help = "Example:\n  turfplat product check my-regulator.toml")]
    Check {
        /// Product file (TOML)
        file: PathBuf,
    },
    /// Print the JSON Schema of product files, for editors
    #[command(after_help = "Example:\n  turfplat product schema")]
    Schema,
}

pub(crate) fn run(args: &Args, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    match &args.what {
        What::New { file } => new(file.as_deref(), output),
        What::Check { file } => check(file, output),
        What::Schema => {
            output.out.write_all(product_schema().as_bytes())?;
            Ok(Verdict::Done)
        }
    }
}

fn new(file: Option<&Path>, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    // Before all the questions, not after.
    if let Some(file) = file
        && fs::symlink_metadata(file).is_ok()
        && !files::is_device(file)
    {
        bail!("{} is there already; name a new file", file.display());
    }
    let text = if io::stdin().is_terminal() {
        let mut answers = io::stdin().lock();
        asked(&mut answers, output.remarks)?
    } else {
        TEMPLATE.to_owned()
    };
    match file {
        None => output.out.write_all(text.as_bytes())?,
        Some(file) => {
            files::write(file, text.as_bytes())?;
            writeln!(
                output.remarks,
                "wrote {0}; check it: turfplat product check {0}",
                file.display()
            )?;
        }
    }
    Ok(Verdict::Done)
}

/// A product file from answers, each checked when it is given.
fn asked(answers: &mut dyn BufRead, to: &mut dyn Write) -> anyhow::Result<String> {
    let mut draft = Draft::default();
    let mut rest = QUESTIONS;
    while let Some(question) = rest.first() {
        let of_group = |one: &&Question| one.group().map(|(group, _)| group);
        let group = of_group(&question);
        let count = match group {
            None => 1,
            Some(_) => rest.iter().take_while(|one| of_group(one) == group).count(),
        };
        let (now, later) = rest.split_at(count);
        rest = later;
        if !draft.wants(question) {
            writeln!(to, "(not asked: {})", question.ask)?;
            continue;
        }
        let again = group.is_some();
        while ask_each(now, &mut draft, answers, to)? && again {}
    }
    draft.drop_unfinished();
    Ok(draft.to_toml()?)
}

/// Asks questions one after the other; false once the first of them is left empty.
fn ask_each(
    questions: &[Question],
    draft: &mut Draft,
    answers: &mut dyn BufRead,
    to: &mut dyn Write,
) -> anyhow::Result<bool> {
    for (place, question) in questions.iter().enumerate() {
        if !ask_one(question, draft, answers, to)? && place == 0 {
            return Ok(false);
        }
    }
    Ok(true)
}

/// Asks until the answer can be read; false where it is left empty.
fn ask_one(
    question: &Question,
    draft: &mut Draft,
    answers: &mut dyn BufRead,
    to: &mut dyn Write,
) -> anyhow::Result<bool> {
    loop {
        write!(to, "{}", question.prompt())?;
        to.flush()?;
        let mut line = String::new();
        if answers.read_line(&mut line).context("cannot read the answer")? == 0 {
            bail!("the answers end before the last question; nothing was written");
        }
        let answer = line.trim();
        if answer.is_empty() {
            if !question.needed {
                return Ok(false);
            }
            writeln!(to, "  a product file needs this")?;
            continue;
        }
        match draft.answer(question, answer) {
            Ok(()) => return Ok(true),
            Err(error) => writeln!(to, "  {error}")?,
        }
    }
}

fn check(file: &Path, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let name = file.display();
    let text = fs::read_to_string(file).with_context(|| format!("cannot read {name}"))?;
    let product = match Product::from_toml(&text) {
        Ok(product) => product,
        Err(error) => {
            writeln!(output.remarks, "refused: in {name}: {error}")?;
            return Ok(Verdict::Refused);
        }
    };
    let facts = product.facts();
    let (given, missing): (Vec<_>, Vec<_>) = facts.iter().partition(|fact| fact.given.is_some());
    writeln!(output.out, "{} ({})\n\ngiven:", product.name, product.id)?;
    for fact in given {
        writeln!(output.out, "  {}: {}", fact.what, fact.text())?;
    }
    writeln!(output.out, "\nnot given (look on the label; silence is no permission):")?;
    for fact in missing {
        writeln!(output.out, "  {} ({})", fact.what, fact.key)?;
    }
    let doubts = product.doubts(&reference::today());
    if doubts.is_empty() {
        writeln!(output.out, "\nnothing in it is implausible")?;
    } else {
        writeln!(output.out, "\nimplausible:")?;
        for doubt in doubts {
            writeln!(output.out, "  {doubt}")?;
        }
    }
    if let Err(error) = product.check_strength() {
        writeln!(output.remarks, "refused: in {name}: {error}")?;
        return Ok(Verdict::Refused);
    }
    Ok(Verdict::Done)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    fn answered(lines: &[&str]) -> (anyhow::Result<String>, String) {
        let mut answers = lines.join("\n");
        // Whatever is asked beyond these is left empty.
        answers.push_str(&"\n".repeat(80));
        let mut told = Vec::new();
        let file = asked(&mut answers.as_bytes(), &mut told);
        (file, String::from_utf8(told).unwrap())
    }

    #[test]
    fn a_wrong_answer_is_asked_again_and_an_empty_one_is_not_given() {
        let (file, told) = answered(&["Feed!", "feed", "", "feed", "powder", "granule"]);
        let product = Product::from_toml(&file.unwrap()).unwrap();
        assert_eq!((product.id.as_str(), product.form.word()), ("feed", "granule"));
        assert_eq!(product.density, None);
        assert!(told.contains("\"Feed!\" is not read here"), "{told}");
        assert!(told.contains("a product file needs this"), "{told}");
        assert!(
            told.contains("(not asked: Label rate"),
            "without a day there are no rates: {told}"
        );
    }

    #[test]
    fn answers_that_end_too_early_write_nothing() {
        let error = asked(&mut "feed\n".as_bytes(), &mut Vec::new()).unwrap_err();
        assert!(error.to_string().contains("nothing was written"));
    }

    #[test]
    fn several_ingredients_and_rates_are_taken_and_an_unfinished_rate_is_not() {
        let lines = [
            "mix",
            "mix",
            "liquid",
            "",
            "",
            "",
            "2026-05-02", // up to the day
            "one",
            "1 lb/gal",
            "two",
            "",
            "", // ingredients, the second without content
            "",
            "", // density, analysis; its soluble share is not asked
            "fescue",
            "tall-fescue",
            "lawn",
            "",
            "0.3 to 0.5 fl oz/1000 sq ft", // rates
            "zoysiagrass",
            "",
            "",
            "",
            "", // the second without a rate
        ];
        let (file, told) = answered(&lines);
        let product = Product::from_toml(&file.unwrap()).unwrap();
        assert_eq!(product.active_ingredients.len(), 2);
        assert_eq!(product.label_rates().count(), 1, "{told}");
        assert!(told.contains("may be tall-fescue or fine-fescue"), "{told}");
    }
}
