use turfplat_dose::{Equipment, RATE_TOLERANCE, Step};
use turfplat_units::{
    Amount, AmountUnit, AreaUnit, Rate, RateUnit, Time, UnitSystem, at_most, decimal, significant,
};

/// Amounts as they are printed: products by volume or by weight as they come, tanks by the gallon or litre.
#[derive(Clone, Copy, Debug)]
pub struct Print(pub UnitSystem);

impl Print {
    /// The unit of a product's amount.
    pub fn product_unit(self, amount: Amount) -> AmountUnit {
        match (amount, self.0) {
            (Amount::Volume(_), UnitSystem::Us) => AmountUnit::FluidOunce,
            (Amount::Volume(_), UnitSystem::Metric) => AmountUnit::Millilitre,
            (Amount::Mass(_), UnitSystem::Us) => AmountUnit::Pound,
            (Amount::Mass(_), UnitSystem::Metric) => AmountUnit::Kilogram,
        }
    }

    /// The unit of tanks and water.
    pub fn spray_unit(self) -> AmountUnit {
        match self.0 {
            UnitSystem::Us => AmountUnit::Gallon,
            UnitSystem::Metric => AmountUnit::Litre,
        }
    }

    /// The unit of a rate whose amounts are in `amount`.
    pub fn rate_unit(self, amount: AmountUnit) -> RateUnit {
        let area = match self.0 {
            UnitSystem::Us => AreaUnit::ThousandSquareFeet,
            UnitSystem::Metric => AreaUnit::HundredSquareMetres,
        };
        RateUnit { amount, area }
    }

    /// The unit in which people read a product's amount: below a pound ounces by weight, below a
    /// kilogram grams, for nobody weighs 0.0313 lb. `oz wt` is never a fluid ounce.
    fn scale_unit(self, amount: Amount) -> AmountUnit {
        let unit = self.product_unit(amount);
        let finer = match unit {
            AmountUnit::Pound => AmountUnit::WeightOunce,
            AmountUnit::Kilogram => AmountUnit::Gram,
            other => other,
        };
        // Nothing is nothing in any unit; what prints as 1 of the larger is in the larger.
        match amount.in_unit(unit) {
            Some(value) if value > 0.0 && value < 0.9995 => finer,
            _ => unit,
        }
    }

    /// `2.46 fl oz`, `1.55 oz wt`.
    pub fn product(self, amount: Amount) -> String {
        amount.print(self.scale_unit(amount))
    }

    /// `9.24 fl oz (273 mL)`: as [`Print::product`] of what is needed in all, and what that is by the marks
    /// of the cup or scale where they are of another unit.
    pub fn in_all(self, amount: Amount, with: &Equipment) -> String {
        let told = self.product(amount);
        match with.unit_for(amount).filter(|unit| *unit != self.scale_unit(amount)) {
            Some(unit) => format!("{told} ({})", amount.print(unit)),
            None => told,
        }
    }

    /// As [`Print::product`] of what is measured out: a mark in full, never rounded up, and in the
    /// unit that stands on the cup or scale, for nobody can pour fluid ounces by marks of a milliliter.
    pub fn to_measure(self, amount: Amount, with: &Equipment) -> String {
        let unit = with.unit_for(amount).unwrap_or_else(|| self.scale_unit(amount));
        match amount.in_unit(unit) {
            Some(value) => format!("{} {}", at_most(value, 4), unit.name()),
            None => self.product(amount),
        }
    }

    /// `backpack, at 3 mph, set to 4.5`: what it is, and how it is worked with as far as that is given.
    pub fn worked_with(self, equipment: &Equipment) -> String {
        let speed = equipment.speed.map(|speed| format!("at {}", speed.print(self.0)));
        let setting = equipment.setting.as_ref().map(|setting| format!("set to {setting}"));
        let parts = [Some(equipment.kind.word().to_owned()), speed, setting];
        parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
    }

    /// `knapsack: backpack, 4 gal tank, 1 gal/1000 sq ft`.
    pub fn equipment(self, equipment: &Equipment) -> String {
        let tank = equipment.tank.map(|tank| match tank {
            Amount::Volume(_) => format!("{} tank", self.spray(tank)),
            Amount::Mass(_) => format!("{} hopper", self.product(tank)),
        });
        let volume = equipment.spray_volume.map(|rate| self.spray_rate(rate));
        let parts = [Some(self.worked_with(equipment)), tank, volume];
        let parts: Vec<String> = parts.into_iter().flatten().collect();
        format!("{}: {}", equipment.name, parts.join(", "))
    }

    /// `9.84 gal`.
    pub fn spray(self, volume: Amount) -> String {
        volume.print(self.spray_unit())
    }

    /// `0.3 fl oz/1000 sq ft`, `0.5 oz wt/1000 sq ft`: volume or weight as it comes.
    pub fn product_rate(self, rate: Rate) -> String {
        let area = self.rate_unit(self.spray_unit()).area;
        rate.print(self.rate_unit(self.scale_unit(rate.on(area.area()))))
    }

    /// `1.2 gal/1000 sq ft`.
    pub fn spray_rate(self, rate: Rate) -> String {
        rate.print(self.rate_unit(self.spray_unit()))
    }

    /// `45 s`, `12 min`, `1 h 5 min`: nobody plans a walk by the second.
    pub fn time(self, time: Time) -> String {
        let minutes = (time.seconds() / Time::SECONDS_PER_MINUTE).round();
        match minutes {
            ..2.0 => format!("{} s", time.seconds().round()),
            ..60.0 => format!("{minutes} min"),
            _ => format!("{} h {} min", (minutes / 60.0).floor(), minutes % 60.0),
        }
    }

    /// The amount of a step of mixing: of a product as it is measured out, else water; nothing where
    /// the step has none.
    pub fn step(self, step: &Step, with: &Equipment) -> String {
        match (step.amount, &step.product) {
            (None, _) => String::new(),
            (Some(amount), Some(_)) => self.to_measure(amount, with),
            (Some(amount), None) => self.spray(amount),
        }
    }

    /// The amount of a step of a jar test: of a product in milliliters or grams to two figures, as a syringe
    /// and a small scale have them, for no cup has a mark for a hundredth of a fluid ounce.
    pub fn step_in_jar(self, step: &Step) -> String {
        match (step.amount, &step.product) {
            (None, _) => String::new(),
            (Some(amount), Some(_)) => {
                let unit = match amount {
                    Amount::Volume(_) => AmountUnit::Millilitre,
                    Amount::Mass(_) => AmountUnit::Gram,
                };
                match amount.in_unit(unit) {
                    Some(value) => format!("{} {}", significant(value, 2), unit.name()),
                    None => self.product(amount),
                }
            }
            (Some(amount), None) => self.spray(amount),
        }
    }

    /// `load 1`, `loads 2 to 4`, `loads 1, 3`: of loads in rising order.
    pub fn loads(loads: &[usize]) -> String {
        match loads {
            [] => String::new(),
            [one] => format!("load {one}"),
            [first, .., last] if last.saturating_sub(*first) + 1 == loads.len() => {
                format!("loads {first} to {last}")
            }
            some => {
                let numbers: Vec<String> = some.iter().map(usize::to_string).collect();
                format!("loads {}", numbers.join(", "))
            }
        }
    }

    /// What measuring does to a rate, such as ` (−2.1 %)`; nothing where it does nothing to speak of.
    pub fn measuring_error(self, ratio: f64) -> String {
        let percent = ratio * 100.0;
        if percent.abs() < 0.05 {
            return String::new();
        }
        let beyond = if ratio.abs() > RATE_TOLERANCE { ", beyond ±5\u{a0}%" } else { "" };
        // A blank that does not break a line.
        format!(
            " ({}{}\u{a0}%{beyond})",
            if percent < 0.0 { "−" } else { "+" },
            decimal(percent.abs(), 1)
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_walk_is_told_in_minutes() {
        let print = Print(UnitSystem::Us);
        let told = |seconds: f64| Time::from_seconds(seconds).map(|time| print.time(time));
        for (seconds, text) in [
            (0.0, "0 s"),
            (44.6, "45 s"),
            (89.0, "89 s"),
            (90.0, "2 min"),
            (3569.0, "59 min"),
            (3571.0, "1 h 0 min"),
            (7510.0, "2 h 5 min"),
        ] {
            assert_eq!(told(seconds).as_deref(), Some(text), "{seconds}");
        }
    }

    #[test]
    fn loads_that_follow_one_another_are_told_as_a_stretch() {
        let table: [(&[usize], &str); 5] = [
            (&[], ""),
            (&[3], "load 3"),
            (&[1, 2], "loads 1 to 2"),
            (&[2, 3, 4], "loads 2 to 4"),
            (&[1, 3, 4], "loads 1, 3, 4"),
        ];
        for (loads, text) in table {
            assert_eq!(Print::loads(loads), text);
        }
    }

    #[test]
    fn little_weight_is_read_in_ounces_or_grams_and_never_in_thousandths_of_a_pound() {
        let amount = |value: f64, unit: AmountUnit| unit.of(value).unwrap_or_else(|| panic!());
        let (us, metric) = (Print(UnitSystem::Us), Print(UnitSystem::Metric));
        // Worked by hand: 0.0969 lb × 16 = 1.55 oz wt; × 453.59237 = 43.95 g.
        let little = amount(0.0969, AmountUnit::Pound);
        assert_eq!(
            (us.product(little), metric.product(little)),
            ("1.55 oz wt".into(), "44 g".into())
        );
        assert_eq!(us.product(amount(1.0, AmountUnit::Pound)), "1 lb");
        assert_eq!(us.product(amount(15.999, AmountUnit::WeightOunce)), "1 lb");
        assert_eq!(metric.product(amount(1.5, AmountUnit::Kilogram)), "1.5 kg");
        assert_eq!(us.product(amount(0.0, AmountUnit::Pound)), "0 lb");
        let rate = |text: &str| {
            text.parse::<turfplat_units::WrittenRate>().ok().and_then(|it| it.rate().ok())
        };
        let half_an_ounce = rate("0.5 oz wt/1000 sq ft").unwrap_or_else(|| panic!());
        assert_eq!(us.product_rate(half_an_ounce), "0.5 oz wt/1000 sq ft");
        // Worked by hand: 14.17 g on 92.903 m².
        assert_eq!(metric.product_rate(half_an_ounce), "15.3 g/100 m2");
        let fluid = rate("0.5 fl oz/1000 sq ft").unwrap_or_else(|| panic!());
        assert_eq!(us.product_rate(fluid), "0.5 fl oz/1000 sq ft");
    }
}
