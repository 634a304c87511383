//! All sums of one plan, for the food that is really there.

use crate::plan::show::{self, decimal};
use crate::plan::{
    Amount, BrineNeed, BrineWay, Celsius, Coat, Id, Ingredient, Item, OilNeed, Plan, Step, Units,
    Until, Vessel, What,
};

use super::brine::{self, Brine, Wanted, Way};
use super::fit;
use super::measure::{as_mass, as_spoons, mass, millilitres, spoons};
use super::oil::{self, Danger, Oil, Pieces};
use super::pan::{Floor, Pan};
use super::scale::Bought;
use super::soak;
use super::surface;
use super::tables::{self, Stuff};

/// What is printed under one heading.
#[derive(Debug, Clone, PartialEq)]
pub struct Section {
    pub title: String,
    pub lines: Vec<String>,
    /// Printed as such, and last.
    pub cautions: Vec<String>,
}

/// A frying temperature where neither the oil nor the step says one. Common practice, no
/// source.
const FRYING_C: f64 = 175.0;

/// The sums of a plan, in the order of its steps; empty when it has nothing to work out.
pub fn sums(plan: &Plan, bought: &Bought) -> Vec<Section> {
    let mut all = Vec::new();
    if !plan.ingredients.is_empty() {
        all.push(Section {
            title: "Amounts".to_owned(),
            lines: plan
                .ingredients
                .iter()
                .map(|i| ingredient(i, bought.of_ingredient(i, plan)))
                .collect(),
            cautions: Vec::new(),
        });
    }
    let real = bought.apply(plan);
    for step in &real.steps {
        let name = step.names.first().unwrap_or(&step.id).clone();
        let mut section = Section {
            title: name,
            lines: Vec::new(),
            cautions: Vec::new(),
        };
        if let Some(need) = &step.brine {
            brine_lines(need, brine_of(step, &real), step, &real, &mut section);
        }
        if !step.breading.is_empty() {
            breading_lines(step, &real, &mut section);
        }
        if let Some(need) = &step.oil {
            oil_lines(need, step, &real, &mut section);
        }
        if !section.lines.is_empty() {
            all.push(section);
        }
    }
    all
}

fn ingredient(i: &Ingredient, factor: Option<f64>) -> String {
    let Some(amount) = i.amount else {
        return format!("{}: to taste", i.name);
    };
    let (factor, tail) = match factor {
        Some(f) => (f, ""),
        None => (1.0, ", then to taste"),
    };
    let said = match amount {
        Amount::Mass(g) => {
            let g = g * factor;
            match i.stuff {
                Some(stuff) => format!("{}, {}", mass(g), as_spoons(g, stuff)),
                None => mass(g),
            }
        }
        Amount::Volume(ml) => {
            let ml = ml * factor;
            match i.stuff {
                Some(stuff) => format!("{} or {}", spoons(ml), as_mass(ml, stuff)),
                None => format!("{} ({})", spoons(ml), millilitres(ml)),
            }
        }
        // An egg is whole.
        Amount::Pieces(n) => decimal((n * factor - 1e-9).ceil().max(1.0), 0),
    };
    format!("{}: {said}{tail}", i.name)
}

/// The pieces that a step holds, by item: how many of each.
pub fn held<'p>(step: &Step, plan: &'p Plan) -> Vec<(&'p Item, u32)> {
    let mut all: Vec<(&Item, u32)> = Vec::new();
    let mut add = |id: &Id, n: u32| {
        let Some(item) = plan.items.iter().find(|i| i.id == *id) else {
            return;
        };
        match all.iter_mut().find(|(other, _)| other.id == item.id) {
            Some((_, count)) => *count += n,
            None => all.push((item, n)),
        }
    };
    for holding in &step.holds {
        match &holding.what {
            What::Pieces { item, count } => add(item, *count),
            What::Sample(id) => {
                if let Some(sample) = plan.samples.iter().find(|s| s.id == *id) {
                    add(&sample.of, 1);
                }
            }
        }
    }
    all
}

/// Grams of all that a step holds.
pub fn held_g(step: &Step, plan: &Plan) -> f64 {
    held(step, plan)
        .iter()
        .map(|(item, n)| item.piece_mass_g.unwrap_or(0.0) * f64::from(*n))
        .sum()
}

/// The brine of a step; none where a part is missing, which the reader has reported.
pub fn brine_of(step: &Step, plan: &Plan) -> Option<Brine> {
    let need = step.brine.as_ref()?;
    let meat_g = held_g(step, plan);
    let liquid_g = need.liquid_ml.unwrap_or(0.0) * Stuff::Water.density().likely;
    let way = match need.way {
        BrineWay::Bath => Way::Bath { liquid_g },
        BrineWay::Coating => Way::Coating { liquid_g },
        BrineWay::Dry => Way::Dry,
    };
    let water = need.meat_water.unwrap_or_else(tables::meat_water);
    if let (BrineWay::Dry, Wanted::InMeat(percent)) = (need.way, need.wanted) {
        // By percent of the meat, whatever its water.
        return brine::brine(way, Wanted::Salt(meat_g * percent / 100.0), meat_g, water);
    }
    brine::brine(way, need.wanted, meat_g, water)
}

fn brine_lines(
    need: &BrineNeed,
    brine: Option<Brine>,
    step: &Step,
    plan: &Plan,
    section: &mut Section,
) {
    let Some(b) = brine else { return };
    let meat = mass(held_g(step, plan));
    let with = match (need.way, need.liquid_ml) {
        (BrineWay::Bath, Some(ml)) => format!("for {meat} in {} of liquid", millilitres(ml)),
        (BrineWay::Coating, Some(ml)) => {
            format!("for {meat} coated with {} of liquid", millilitres(ml))
        }
        _ => format!("for {meat}, rubbed on dry"),
    };
    let by_spoon = match need.crystals {
        Some(stuff) => format!(" ({})", as_spoons(b.salt_g, stuff)),
        None => String::new(),
    };
    section.lines.push(format!(
        "Salt to weigh: {}{by_spoon}, {with}.",
        mass(b.salt_g)
    ));
    let mut ends = Vec::new();
    if let Some(start) = b.start_percent {
        ends.push(format!("{} % in the liquid at first", decimal(start, 1)));
    }
    ends.push(format!(
        "{} % of the meat once it is even all through",
        decimal(b.meat_percent, 1)
    ));
    section.lines.push(format!("That is {}.", ends.join(", ")));
    if matches!(need.wanted, Wanted::InLiquid(_)) {
        section.lines.push(
            "A strong brine does not come to that: the time decides, so take the meat out by the clock."
                .to_owned(),
        );
        section.lines.extend(soaking(step, plan));
    }
    if need.crystals.is_none() {
        section.lines.push(
            "Weigh it. A teaspoon of salt is 2.8 g to 6.5 g; which salt is in the box?".to_owned(),
        );
    }
    if b.meat_percent > brine::TOO_SALTY_PERCENT && !matches!(need.wanted, Wanted::InLiquid(_)) {
        section.cautions.push(format!(
            "{} % is more salt than anyone eats; 1 % to 1.5 % is usual.",
            decimal(b.meat_percent, 1)
        ));
    }
    if need.way != BrineWay::Dry {
        let cold = match plan.units {
            Units::Fahrenheit => "40 F",
            Units::Celsius => "4 C",
        };
        section.cautions.push(format!(
            "In the fridge at {cold} or below the whole time, at most two days, and the liquid is poured away."
        ));
    }
}

/// How far the salt comes to the middle in the plan's time, and how long half of it takes.
fn soaking(step: &Step, plan: &Plan) -> Option<String> {
    let wait = step.wait?;
    let item = held(step, plan)
        .into_iter()
        .filter(|(item, _)| item.thickness_mm.is_some())
        .max_by(|(a, _), (b, _)| {
            a.thickness_mm
                .unwrap_or(0.0)
                .total_cmp(&b.thickness_mm.unwrap_or(0.0))
        })?
        .0;
    let mm = item.thickness_mm?;
    let hours = crate::plan::Span {
        lo: wait.lo.as_secs_f64() / 3600.0,
        hi: wait.hi.as_secs_f64() / 3600.0,
    };
    let share = soak::share_after(item.shape, mm, hours)?;
    let half = soak::hours_until(item.shape, mm, 0.5)?;
    let round =
        |hours: f64| std::time::Duration::from_secs((hours.round().max(1.0) * 3600.0) as u64);
    Some(format!(
        "In the plan's {} the middle of {} comes to {} % to {} % of the brine's strength; half takes {} to {} (an estimate from published diffusion in meat; bone, skin and fat slow it).",
        show::span(wait, show::duration),
        show::length(mm, plan.units),
        decimal(100.0 * share.lo, 0),
        decimal(100.0 * share.hi, 0),
        show::duration(round(half.lo)),
        show::duration(round(half.hi)),
    ))
}

fn breading_lines(step: &Step, plan: &Plan, section: &mut Section) {
    let mut surface_cm2 = 0.0;
    for (item, n) in held(step, plan) {
        if let (Some(g), Some(mm)) = (item.piece_mass_g, item.thickness_mm) {
            surface_cm2 += f64::from(n) * surface::of_piece(item.shape, g, mm);
        }
    }
    let b = surface::breading(surface_cm2);
    let parts: Vec<String> = step
        .breading
        .iter()
        .map(|coat| match coat {
            Coat::Flour => format!(
                "flour {} ({})",
                mass(b.flour_g),
                as_spoons(b.flour_g, Stuff::Flour)
            ),
            Coat::Egg => format!("{} egg{}", b.eggs, if b.eggs == 1 { "" } else { "s" }),
            Coat::Crumb => format!("crumb {}", mass(b.crumb_g)),
            Coat::Leavening => format!(
                "baking powder {}",
                spoons(b.leavening_tsp * tables::TEASPOON_ML)
            ),
        })
        .collect();
    section.lines.push(format!(
        "Breading for {} cm2 of surface: {}.",
        decimal(surface_cm2, 0),
        parts.join("; ")
    ));
}

/// The inside of a vessel, where the plan has its size.
pub fn pan_of(vessel: &Vessel) -> Option<Pan> {
    let floor = match (vessel.diameter_mm, vessel.sides_mm) {
        (Some(rim), _) => Floor::Round {
            floor_mm: vessel.floor_mm.unwrap_or(rim),
            rim_mm: rim,
        },
        (None, Some((a, b))) => Floor::Sides { a_mm: a, b_mm: b },
        (None, None) => return None,
    };
    Some(Pan {
        floor,
        depth_mm: vessel.depth_mm?,
    })
}

/// The temperature that a step fries at.
fn frying_c(need: &OilNeed, step: &Step) -> f64 {
    let window = step.until.iter().find_map(|u| match u {
        Until::Medium(span) => Some((span.lo.0 + span.hi.0) / 2.0),
        _ => None,
    });
    need.at.map(|c| c.0).or(window).unwrap_or(FRYING_C)
}

/// The oil of a step with its pan and pieces; none where a size is missing.
pub fn oil_of(step: &Step, plan: &Plan) -> Option<(Pan, Pieces, Oil)> {
    let need = step.oil.as_ref()?;
    let vessel = plan
        .vessels
        .iter()
        .find(|v| Some(&v.id) == step.vessel.as_ref())?;
    let pan = pan_of(vessel)?;
    let all = held(step, plan);
    let count: u32 = all.iter().map(|(_, n)| *n).sum();
    let total = held_g(step, plan);
    // Unlike pieces are taken as like ones of the mean mass and the greatest thickness.
    let thickness_mm = all
        .iter()
        .filter_map(|(item, _)| item.thickness_mm)
        .fold(0.0, f64::max);
    if count == 0 || total <= 0.0 || thickness_mm <= 0.0 {
        return None;
    }
    let pieces = Pieces {
        count,
        mass_g: total / f64::from(count),
        thickness_mm,
    };
    Some((
        pan,
        pieces,
        oil::oil(pan, pieces, need.pour, frying_c(need, step)),
    ))
}

fn oil_lines(need: &OilNeed, step: &Step, plan: &Plan, section: &mut Section) {
    let Some((pan, pieces, o)) = oil_of(step, plan) else {
        return;
    };
    let length = |mm: f64| show::length(mm.max(0.0), plan.units);
    let at = show::temperature(Celsius(frying_c(need, step)), plan.units);
    section.lines.push(format!(
        "Pour {} of oil: {} deep cold, {} at {at}.",
        millilitres(o.pour_ml),
        length(o.cold_mm),
        length(o.hot_mm)
    ));
    let under = if o.up_the_pieces >= 1.0 {
        "the pieces are under".to_owned()
    } else {
        format!("{} % up the pieces", decimal(100.0 * o.up_the_pieces, 0))
    };
    section.lines.push(format!(
        "With {} piece{} in it stands {} deep, {under}; {} left to the rim.",
        pieces.count,
        if pieces.count == 1 { "" } else { "s" },
        length(o.with_food_mm),
        length(o.headroom_mm)
    ));
    if let Some(ml) = o.add_for_half_ml {
        section
            .lines
            .push(format!("For halfway up, add {}.", millilitres(ml)));
    }
    let disc = fit::footprint_mm(pieces.mass_g, pieces.thickness_mm);
    let most = fit::most(pan, disc);
    if most >= pieces.count {
        section
            .lines
            .push(format!("All {} lie in one layer.", pieces.count));
    } else if most == 0 {
        section
            .cautions
            .push("Not even one piece lies flat in that pan.".to_owned());
    } else {
        section.lines.push(format!(
            "{most} of the {} lie in one layer: {} batches, or as many pans.",
            pieces.count,
            pieces.count.div_ceil(most)
        ));
    }
    match o.danger {
        Danger::Usual => {}
        Danger::MayBoilOver => section.cautions.push(format!(
            "More than a third of the pan ({} of {}). Wet food makes oil foam over the rim: a deeper pan, less oil or fewer pieces at a time.",
            length(o.with_food_mm),
            length(pan.depth_mm)
        )),
        Danger::RunsOver => section.cautions.push(
            "It runs over the rim. A deeper pan, less oil or fewer pieces at a time.".to_owned(),
        ),
    }
    section.cautions.push(
        "Never leave hot oil. A lid and the heat off put out a fire; never water.".to_owned(),
    );
}

/// The sections as plain text.
pub fn page(sections: &[Section]) -> String {
    let mut text = String::new();
    for section in sections {
        text.push('\n');
        text.push_str(&capital(&section.title));
        text.push('\n');
        for line in &section.lines {
            wrap(line, &mut text);
        }
        for caution in &section.cautions {
            wrap(&format!("CAUTION: {caution}"), &mut text);
        }
    }
    text
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    match chars.next() {
        Some(first) => first.to_uppercase().chain(chars).collect(),
        None => String::new(),
    }
}

/// Lines of at most 80 columns, three in from the margin, further ones five.
fn wrap(line: &str, text: &mut String) {
    let mut column = 0;
    for word in line.split(' ') {
        let length = word.chars().count();
        if column == 0 {
            text.push_str("   ");
            column = 3;
        } else if column + 1 + length > 80 {
            text.push_str("\n     ");
            column = 5;
        } else {
            text.push(' ');
            column += 1;
        }
        text.push_str(word);
        column += length;
    }
    text.push('\n');
}
