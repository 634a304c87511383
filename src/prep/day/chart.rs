//! The day as a chart: for the terminal, and as SVG to print and pin up. Colour is never
//! the only sign: critical steps have a star and a thick frame, hands-on time is hatched.

use jiff::ZonedDateTime;

use crate::plan::Plan;

use super::clock::{moment, short};
use super::lay::Day;
use super::table::name;

/// Where the chart begins and what a stretch of it stands for. Long waits would squeeze
/// everything else into nothing, so a day of more than this is drawn with its idle hours
/// cut out.
const CUT_ABOVE: i64 = 2 * 3600;
const CUT_TO: i64 = 40 * 60;

/// Moments at which anything begins or ends, in order, with where each is drawn: an idle
/// stretch is drawn shorter, and said to be.
struct Scale {
    marks: Vec<(i64, i64)>,
}

impl Scale {
    fn of(day: &Day) -> Scale {
        let mut moments: Vec<i64> = day
            .rows
            .iter()
            .flat_map(|r| [r.advised, r.advised + r.hands, r.ends])
            .chain([day.serve])
            .collect();
        moments.sort_unstable();
        moments.dedup();
        let mut marks = Vec::new();
        let mut drawn = 0;
        let mut before = None;
        for moment in moments {
            if let Some(before) = before {
                let gap: i64 = moment - before;
                drawn += if gap > CUT_ABOVE { CUT_TO } else { gap };
            }
            marks.push((moment, drawn));
            before = Some(moment);
        }
        Scale { marks }
    }

    fn length(&self) -> i64 {
        self.marks.last().map_or(1, |(_, d)| (*d).max(1))
    }

    /// Where a moment is drawn, as a share of the whole.
    fn at(&self, moment: i64) -> f64 {
        let drawn = self
            .marks
            .windows(2)
            .find_map(|pair| match *pair {
                [(a, da), (b, db)] if (a..=b).contains(&moment) && b > a => {
                    Some(da as f64 + (db - da) as f64 * (moment - a) as f64 / (b - a) as f64)
                }
                _ => None,
            })
            .unwrap_or(if moment <= 0 {
                0.0
            } else {
                self.length() as f64
            });
        drawn / self.length() as f64
    }

    /// The idle stretches that are drawn short, by where they begin and end.
    fn cuts(&self) -> impl Iterator<Item = (i64, i64)> + '_ {
        self.marks.windows(2).filter_map(|pair| match *pair {
            [(a, _), (b, _)] if b - a > CUT_ABOVE => Some((a, b)),
            _ => None,
        })
    }
}

/// `#` hands on, `=` under way, `~` under way while long hours pass, `|` the table.
pub fn terminal(plan: &Plan, day: &Day, now: &ZonedDateTime) -> String {
    const WIDTH: usize = 48;
    let scale = Scale::of(day);
    let column = |moment: i64| ((scale.at(moment) * WIDTH as f64).round() as usize).min(WIDTH);
    let widest = day
        .rows
        .iter()
        .map(|r| name(plan, r.step).chars().count())
        .max()
        .unwrap_or(0);
    let mut text = String::new();
    for row in &day.rows {
        let (from, to) = (column(row.advised), column(row.ends));
        let hands = column(row.advised + row.hands);
        let bar: String = (0..=WIDTH)
            .map(|c| {
                let cut = scale
                    .cuts()
                    .any(|(a, b)| (column(a)..column(b)).contains(&c));
                if c == WIDTH && c >= to {
                    '|'
                } else if c < from
                    || (c >= to && c > from)
                    || (c == from && to == from && row.hands == 0 && c == WIDTH)
                {
                    ' '
                } else if c < hands || (c == from && row.hands > 0) {
                    '#'
                } else if cut {
                    '~'
                } else {
                    '='
                }
            })
            .collect();
        let begin = moment(now, row.advised);
        text.push_str(&format!(
            "   {} {:<widest$} {} {bar}\n",
            if row.critical { '*' } else { ' ' },
            name(plan, row.step),
            begin.strftime("%H:%M"),
        ));
    }
    text.push_str(
        "\n   # hands on   = under way   ~ hours left out   * critical   | on the table\n",
    );
    text
}

/// The chart as an SVG document, A4 wide, black on white.
pub fn svg(plan: &Plan, day: &Day, now: &ZonedDateTime) -> String {
    const ROW: f64 = 26.0;
    const LEFT: f64 = 190.0;
    const WIDE: f64 = 760.0;
    const TOP: f64 = 64.0;
    let scale = Scale::of(day);
    let x = |moment: i64| LEFT + scale.at(moment) * (WIDE - LEFT - 60.0);
    let bottom = TOP + ROW * day.rows.len() as f64;
    let height = bottom + 64.0;
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{WIDE}\" height=\"{height}\" viewBox=\"0 0 {WIDE} {height}\" \
         font-family=\"sans-serif\" font-size=\"13\" role=\"img\">\n\
         <title>{title}</title>\n\
         <defs><pattern id=\"hands\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\">\
         <rect width=\"6\" height=\"6\" fill=\"#fff\"/><rect width=\"3\" height=\"6\" fill=\"#333\"/></pattern></defs>\n\
         <rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n\
         <text x=\"12\" y=\"26\" font-size=\"18\" font-weight=\"bold\">{title}</text>\n\
         <text x=\"12\" y=\"46\">On the table {serve}</text>\n",
        title = escape(&plan.title),
        serve = escape(
            &moment(now, day.serve)
                .strftime("%A %-d %B, %H:%M")
                .to_string()
        ),
    );
    for (a, b) in scale.cuts() {
        svg.push_str(&format!(
            "<rect x=\"{:.1}\" y=\"{TOP}\" width=\"{:.1}\" height=\"{:.1}\" fill=\"#eee\"/>\
             <text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\" font-size=\"11\">({})</text>\n",
            x(a),
            x(b) - x(a),
            bottom - TOP,
            (x(a) + x(b)) / 2.0,
            bottom + 14.0,
            super::clock::span(b - a),
        ));
    }
    let mut before: Option<ZonedDateTime> = None;
    for (index, row) in day.rows.iter().enumerate() {
        let y = TOP + ROW * index as f64;
        let begin = moment(now, row.advised);
        let said = match &before {
            Some(before) => short(&begin, before),
            None => begin.strftime("%a %H:%M").to_string(),
        };
        before = Some(begin);
        let star = if row.critical { "* " } else { "" };
        let frame = if row.critical { 2.5 } else { 1.0 };
        svg.push_str(&format!(
            "<text x=\"12\" y=\"{text:.1}\">{star}{name}</text>\
             <rect x=\"{from:.1}\" y=\"{bar:.1}\" width=\"{wide:.1}\" height=\"16\" fill=\"#ddd\" stroke=\"#000\" stroke-width=\"{frame}\"/>\
             <rect x=\"{from:.1}\" y=\"{bar:.1}\" width=\"{hands:.1}\" height=\"16\" fill=\"url(#hands)\" stroke=\"#000\" stroke-width=\"{frame}\"/>\
             <text x=\"{label:.1}\" y=\"{text:.1}\" text-anchor=\"end\" font-size=\"12\">{said}</text>\n",
            text = y + 17.0,
            name = escape(name(plan, row.step)),
            from = x(row.advised),
            bar = y + 5.0,
            wide = (x(row.ends) - x(row.advised)).max(2.0),
            hands = (x(row.advised + row.hands) - x(row.advised)).max(0.0),
            label = x(row.advised) - 5.0,
            said = escape(&said),
        ));
    }
    svg.push_str(&format!(
        "<line x1=\"{x:.1}\" y1=\"{TOP}\" x2=\"{x:.1}\" y2=\"{bottom:.1}\" stroke=\"#000\" stroke-width=\"2\"/>\n\
         <text x=\"12\" y=\"{legend:.1}\" font-size=\"12\">hatched: hands on; thick frame and *: critical, no time to lose; grey: hours drawn short</text>\n\
         </svg>\n",
        x = x(day.serve),
        legend = bottom + 44.0,
    ));
    svg
}

/// Text as XML content and attribute values; what XML cannot hold is left out.
fn escape(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}
