//! Charts as inline SVG: plain ink, the limit dashed, values said at the mark itself. What is drawn stands in a table or
//! in words beside it as well.

use std::fmt::Write;

use super::markup::Markup;
use crate::words::here;

/// Points over an axis, with limits, and a straight line through them.
#[derive(Clone, Debug, Default)]
pub struct Graph {
    /// What it shows, for whoever does not see it.
    pub says: String,
    pub x_unit: String,
    pub y_unit: String,
    /// In the order of x.
    pub points: Vec<(f64, f64)>,
    /// Joined by a line where each follows from the one before.
    pub joined: bool,
    /// Dashed, with words at their end.
    pub limits: Vec<(f64, String)>,
    /// From one point to another, thinner.
    pub line: Option<((f64, f64), (f64, f64))>,
    /// Words instead of figures along the bottom.
    pub x_words: Vec<(f64, String)>,
    /// What must be within the picture whatever the points.
    pub y_least: Option<f64>,
    pub y_most: Option<f64>,
}

/// One bar, with its words above it and its figure at its end.
#[derive(Clone, Debug)]
pub struct Bar {
    pub words: String,
    /// Between 0 and 1 of the longest.
    pub length: f64,
    pub figure: String,
}

const WIDTH: f64 = 360.0;
const HEIGHT: f64 = 220.0;
const LEFT: f64 = 46.0;
const RIGHT: f64 = 12.0;
const TOP: f64 = 22.0;
const BOTTOM: f64 = 40.0;

impl Graph {
    pub fn svg(&self) -> Markup {
        let Some(frame) = Frame::of(self) else { return Markup::default() };
        let mut svg = open(&self.says, HEIGHT);
        for tick in &frame.y_ticks {
            let y = frame.y(*tick);
            line(&mut svg, (LEFT, y), (WIDTH - RIGHT, y), "stroke-opacity=\".18\"");
            text(&mut svg, LEFT - 6.0, y + 4.0, "end", &written(*tick, frame.y_step));
        }
        text(&mut svg, 2.0, 13.0, "start", &self.y_unit);
        line(&mut svg, (LEFT, HEIGHT - BOTTOM), (WIDTH - RIGHT, HEIGHT - BOTTOM), "");
        if self.x_words.is_empty() {
            for tick in &frame.x_ticks {
                let x = frame.x(*tick);
                line(&mut svg, (x, HEIGHT - BOTTOM), (x, HEIGHT - BOTTOM + 4.0), "");
                text(&mut svg, x, HEIGHT - BOTTOM + 17.0, anchor(x), &written(*tick, frame.x_step));
            }
        }
        for (at, words) in &self.x_words {
            let x = frame.x(*at);
            line(&mut svg, (x, HEIGHT - BOTTOM), (x, HEIGHT - BOTTOM + 4.0), "");
            text(&mut svg, x, HEIGHT - BOTTOM + 17.0, anchor(x), words);
        }
        text(&mut svg, WIDTH - RIGHT, HEIGHT - 4.0, "end", &self.x_unit);
        for (at, _) in &self.limits {
            let y = frame.y(*at);
            line(&mut svg, (LEFT, y), (WIDTH - RIGHT, y), "stroke-width=\"2\" stroke-dasharray=\"7 5\"");
        }
        if let Some((a, b)) = self.line {
            line(&mut svg, frame.place(a), frame.place(b), "stroke-width=\"1.5\" stroke-opacity=\".7\"");
        }
        if self.joined {
            let path: Vec<String> = self.points.iter().map(|p| at(frame.place(*p))).collect();
            let _ = write!(
                svg,
                "<polyline points=\"{}\" fill=\"none\" stroke=\"currentColor\" stroke-width=\"2\"/>",
                path.join(" ")
            );
        }
        for p in &self.points {
            let (x, y) = frame.place(*p);
            let _ = write!(svg, "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"2.6\" fill=\"currentColor\"/>");
        }
        // Over the points, and readable there: desk.css gives them an edge of paper.
        for (at, words) in &self.limits {
            // Below the line where readings lie over it.
            let line = frame.y(*at);
            let above = self.points.iter().filter(|p| frame.y(p.1) < line).count();
            let below = above * 2 > self.points.len() && line + 16.0 < HEIGHT - BOTTOM;
            let (x, y, words) = (LEFT + 4.0, if below { line + 15.0 } else { line - 5.0 }, escaped(words));
            let _ = write!(svg, "<text class=\"over\" x=\"{x:.1}\" y=\"{y:.1}\">{words}</text>");
        }
        if let Some(last) = self.points.last() {
            let (x, y) = frame.place(*last);
            let step = frame.y_step / 10.0;
            // Out of the way of what comes down to it: below, or where there is no room beside it.
            let before = self.points.iter().rev().nth(1).map_or(last.1, |p| p.1);
            let falls = self.joined && before > last.1;
            let room = y + 18.0 < HEIGHT - BOTTOM;
            let (x, y, anchor) = match (falls, room, x > WIDTH - 70.0) {
                (true, false, _) => (x - 10.0, y + 4.0, "end"),
                (true, true, true) => (x, y + 18.0, "end"),
                (true, true, false) => (x + 6.0, y + 18.0, "start"),
                (false, _, true) => (x, (y - 8.0).max(12.0), "end"),
                (false, _, false) => (x + 6.0, (y - 8.0).max(12.0), "start"),
            };
            let words = escaped(&written(last.1, step));
            let _ = write!(
                svg,
                "<text class=\"over\" x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"{anchor}\" font-weight=\"700\">{words}</text>"
            );
        }
        svg.push_str("</svg>");
        Markup(svg)
    }
}

/// What stands under a mark at the right end would be cut off if it stood in its middle.
const fn anchor(x: f64) -> &'static str {
    if x > WIDTH - 40.0 { "end" } else { "middle" }
}

pub fn bars(says: &str, bars: &[Bar]) -> Markup {
    const ROW: f64 = 40.0;
    let rows = u32::try_from(bars.len()).unwrap_or(0);
    let mut svg = open(says, ROW * f64::from(rows) + 4.0);
    let mut y = 0.0;
    for bar in bars {
        text(&mut svg, 0.0, y + 15.0, "start", &bar.words);
        bold(&mut svg, WIDTH, y + 15.0, "end", &bar.figure);
        let long = (bar.length.clamp(0.0, 1.0) * WIDTH).max(1.0);
        let top = y + 21.0;
        let _ = write!(
            svg,
            "<rect x=\"0\" y=\"{top:.1}\" width=\"{long:.1}\" height=\"11\" fill=\"currentColor\"/>"
        );
        y += ROW;
    }
    svg.push_str("</svg>");
    Markup(svg)
}

struct Frame {
    x_from: f64,
    x_to: f64,
    y_from: f64,
    y_to: f64,
    x_step: f64,
    y_step: f64,
    x_ticks: Vec<f64>,
    y_ticks: Vec<f64>,
}

impl Frame {
    fn of(graph: &Graph) -> Option<Self> {
        let ends = || graph.line.into_iter().flat_map(|(a, b)| [a, b]);
        let xs = graph
            .points
            .iter()
            .map(|p| p.0)
            .chain(ends().map(|p| p.0))
            .chain(graph.x_words.iter().map(|w| w.0));
        let ys = graph.points.iter().map(|p| p.1).chain(ends().map(|p| p.1));
        let ys = ys.chain(graph.limits.iter().map(|l| l.0)).chain(graph.y_least).chain(graph.y_most);
        let (x_from, x_to) = reach(xs)?;
        let (least, most) = reach(ys)?;
        let y_step = step(most - least, 4.0);
        let (y_from, y_to) = ((least / y_step).floor() * y_step, (most / y_step).ceil() * y_step);
        let x_step = step(x_to - x_from, 4.0);
        Some(Self {
            x_ticks: ticks((x_from / x_step).ceil() * x_step, x_to, x_step),
            y_ticks: ticks(y_from, y_to, y_step),
            x_from,
            x_to,
            y_from,
            y_to,
            x_step,
            y_step,
        })
    }

    fn x(&self, x: f64) -> f64 {
        LEFT + (x - self.x_from) / (self.x_to - self.x_from) * (WIDTH - LEFT - RIGHT)
    }

    fn y(&self, y: f64) -> f64 {
        HEIGHT - BOTTOM - (y - self.y_from) / (self.y_to - self.y_from) * (HEIGHT - TOP - BOTTOM)
    }

    fn place(&self, (x, y): (f64, f64)) -> (f64, f64) {
        (self.x(x), self.y(y))
    }
}

/// Least and most; never the same, so that nothing is divided by zero.
fn reach(all: impl Iterator<Item = f64>) -> Option<(f64, f64)> {
    let finite = all.filter(|f| f.is_finite());
    let (least, most) = finite.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), f| (a.min(f), b.max(f)));
    if least > most {
        return None;
    }
    Some(if most - least > 1e-9 { (least, most) } else { (least - 0.5, most + 0.5) })
}

/// 1, 2 or 5 times a power of ten, so that about so many fit.
fn step(length: f64, about: f64) -> f64 {
    let rough = length / about;
    let power = 10_f64.powf(rough.log10().floor());
    let times = [1.0, 2.0, 5.0].into_iter().find(|t| t * power >= rough).unwrap_or(10.0);
    times * power
}

fn ticks(from: f64, to: f64, step: f64) -> Vec<f64> {
    (0..40).map(|n| from + f64::from(n) * step).take_while(|t| *t <= to + step * 1e-6).collect()
}

/// With as many places as the step has.
fn written(figure: f64, step: f64) -> String {
    let places = if step >= 1.0 {
        0
    } else if step >= 0.1 {
        1
    } else if step >= 0.01 {
        2
    } else {
        3
    };
    let figure = if figure.abs() < step * 1e-6 { 0.0 } else { figure };
    here().figure(&format!("{figure:.places$}"))
}

fn open(says: &str, height: f64) -> String {
    format!(
        "<svg class=\"chart\" viewBox=\"0 0 {WIDTH} {height}\" role=\"img\" aria-label=\"{}\" font-size=\"13\" \
         fill=\"currentColor\">",
        escaped(says)
    )
}

fn line(svg: &mut String, a: (f64, f64), b: (f64, f64), how: &str) {
    let ((x1, y1), (x2, y2)) = (a, b);
    let _ = write!(
        svg,
        "<line x1=\"{x1:.1}\" y1=\"{y1:.1}\" x2=\"{x2:.1}\" y2=\"{y2:.1}\" stroke=\"currentColor\" {how}/>"
    );
}

fn text(svg: &mut String, x: f64, y: f64, anchor: &str, words: &str) {
    let _ = write!(svg, "<text x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"{anchor}\">{}</text>", escaped(words));
}

fn bold(svg: &mut String, x: f64, y: f64, anchor: &str, words: &str) {
    let _ = write!(
        svg,
        "<text x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"{anchor}\" font-weight=\"700\">{}</text>",
        escaped(words)
    );
}

fn at((x, y): (f64, f64)) -> String {
    format!("{x:.1},{y:.1}")
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&#34;")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_round_and_figures_as_short_as_they_can_be() {
        for (length, expected) in [(10.0, 5.0), (8.0, 2.0), (3.9, 1.0), (0.9, 0.5), (1_700.0, 500.0)] {
            assert!((step(length, 4.0) - expected).abs() < 1e-9, "{length}");
        }
        assert_eq!((written(12.0, 2.0).as_str(), written(1.5, 0.5).as_str()), ("12", "1.5"));
    }

    #[test]
    fn everything_drawn_lies_in_the_picture_and_words_are_escaped() {
        let graph = Graph {
            says: "a & b".to_owned(),
            points: vec![(100.0, 9.0), (150.0, 7.5)],
            limits: vec![(1.5, "<limit>".to_owned())],
            line: Some(((100.0, 9.0), (400.0, 1.5))),
            ..Graph::default()
        };
        let svg = graph.svg().0;
        assert!(svg.contains("a &amp; b") && svg.contains("&lt;limit&gt;"), "{svg}");
        let frame = Frame::of(&graph).unwrap();
        for p in [(100.0, 9.0), (400.0, 1.5)] {
            let (x, y) = frame.place(p);
            assert!((LEFT..=WIDTH - RIGHT).contains(&x) && (TOP..=HEIGHT - BOTTOM).contains(&y), "{p:?}");
        }
        assert_eq!(Graph::default().svg(), Markup::default());
    }
}
