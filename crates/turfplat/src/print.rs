use turfplat_units::{Amount, AmountUnit, AreaUnit, Rate, RateUnit, UnitSystem, decimal};

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

    /// `2.46 fl oz`.
    pub fn product(self, amount: Amount) -> String {
        amount.print(self.product_unit(amount))
    }

    /// `9.84 gal`.
    pub fn spray(self, volume: Amount) -> String {
        volume.print(self.spray_unit())
    }

    /// `0.3 fl oz/1000 sq ft`, in the unit of the product whose `amount` it gives.
    pub fn product_rate(self, rate: Rate, amount: Amount) -> String {
        rate.print(self.rate_unit(self.product_unit(amount)))
    }

    /// `1.2 gal/1000 sq ft`.
    pub fn spray_rate(self, rate: Rate) -> String {
        rate.print(self.rate_unit(self.spray_unit()))
    }

    /// What measuring does to a rate, such as ` (−2.1 %)`; nothing where it does nothing to speak of.
    pub fn measuring_error(self, ratio: f64) -> String {
        let percent = ratio * 100.0;
        if percent.abs() < 0.05 {
            return String::new();
        }
        // A blank that does not break a line.
        format!(" ({}{}\u{a0}%)", if percent < 0.0 { "−" } else { "+" }, decimal(percent.abs(), 1))
    }
}
