//! The smallest price that is written as the owner wants it and leaves the margin that is wanted.
//!
//! Owns the arithmetic: whole numbers of one unit small enough for all amounts, never a rounded quotient. Must not
//! know goods. Start reading at [`Reckoning::smallest_price`].
//!
//! With fees of f per cent and u per unit, a unit that costs c leaves of the price p the margin p - c - fp/100 - u.
//! Without fees, and with the margin as a share of the price, the smallest price is the cost divided by one less the
//! share: the price of a markup on selling price, as handbooks of retail mathematics have it.

use std::fmt;
use std::str::FromStr;

use model::rules::Fees;
use model::{Currency, Money, money};
use rust_decimal::Decimal;
use thiserror::Error;

/// What has to be left of a price once the goods and the fees are paid.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Margin {
    /// So many per cent of the price.
    PercentOfPrice(Decimal),
    /// So much for each unit, in the currency of the price.
    PerUnit(Decimal),
    /// So many per cent of what the goods cost: a markup.
    PercentOfCost(Decimal),
}

/// As a sentence goes on: 'a margin of …'.
impl fmt::Display for Margin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::PercentOfPrice(percent) => write!(f, "{} % of the price", percent.normalize()),
            Self::PerUnit(amount) => write!(f, "{} a unit", amount.normalize()),
            Self::PercentOfCost(percent) => write!(f, "{} % of the cost", percent.normalize()),
        }
    }
}

/// A text that is no margin.
#[derive(Debug, Error, PartialEq, Eq)]
#[error("not a margin")]
pub struct NotAMargin;

impl Margin {
    /// What an error says was expected.
    pub const EXPECTED: &str =
        r#"an amount such as "6.00", per cent of the price such as "40 %", or "60 % of cost""#;
}

/// `6.00`, `40 %` (of the price), `60 % of cost`.
impl FromStr for Margin {
    type Err = NotAMargin;

    fn from_str(text: &str) -> Result<Self, NotAMargin> {
        let amount = |text: &str| {
            let amount = money::parse_amount(text.trim()).ok_or(NotAMargin)?;
            if amount.is_sign_negative() { Err(NotAMargin) } else { Ok(amount) }
        };
        let Some((percent, of)) = text.split_once('%') else { return Ok(Self::PerUnit(amount(text)?)) };
        match of.split_whitespace().collect::<Vec<_>>().as_slice() {
            [] | ["of", "price"] | ["of", "the", "price"] => Ok(Self::PercentOfPrice(amount(percent)?)),
            ["of", "cost"] | ["of", "the", "cost"] => Ok(Self::PercentOfCost(amount(percent)?)),
            _ => Err(NotAMargin),
        }
    }
}

/// How prices are written.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub enum Rounding {
    /// To the currency's smallest unit.
    #[default]
    SmallestUnit,
    /// They end like this.
    Ending(Ending),
    /// They are a multiple of this.
    Step(Decimal),
}

/// A text that does not say how prices are written.
#[derive(Debug, Error, PartialEq, Eq)]
#[error("not a way to write prices")]
pub struct NotARounding;

impl Rounding {
    /// What an error says was expected.
    pub const EXPECTED: &str =
        r#"the last digits of prices such as ".95" or "9.90", steps such as "step 0.50", or "unit""#;
}

/// `.95`, `step 0.50`, or `unit` for the currency's smallest.
impl FromStr for Rounding {
    type Err = NotARounding;

    fn from_str(text: &str) -> Result<Self, NotARounding> {
        match text.split_whitespace().collect::<Vec<_>>().as_slice() {
            ["unit"] => Ok(Self::SmallestUnit),
            ["step", step] => {
                let step = money::parse_amount(step).filter(|step| *step > Decimal::ZERO);
                step.map(Self::Step).ok_or(NotARounding)
            }
            [ending] => ending.parse().map(Self::Ending).map_err(|_| NotARounding),
            _ => Err(NotARounding),
        }
    }
}

impl fmt::Display for Rounding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::SmallestUnit => f.write_str("prices are rounded up to the smallest unit"),
            Self::Ending(ending) => write!(f, "prices end in {ending}"),
            Self::Step(step) => write!(f, "prices are rounded up to steps of {step}"),
        }
    }
}

/// The last digits of prices: `.95`, `9.90`, or `80` where a currency has no smaller unit.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Ending {
    /// The amount of these digits.
    amount: Decimal,
    /// How far two prices with this ending are apart.
    step: Decimal,
    /// Whether it has digits behind the point.
    has_point: bool,
}

/// A text that is no ending of prices.
#[derive(Debug, Error, PartialEq, Eq)]
#[error("not the end of a price")]
pub struct NotAnEnding;

impl Ending {
    /// What an error says was expected.
    pub const EXPECTED: &str = r#"the last digits of prices, such as ".95" or "9.90""#;
    /// Most digits before the point; more is no ending but a price.
    const DIGITS_AT_MOST: usize = 4;
}

impl FromStr for Ending {
    type Err = NotAnEnding;

    fn from_str(text: &str) -> Result<Self, NotAnEnding> {
        let (whole, fraction) = match text.split_once('.') {
            Some((_, "")) => return Err(NotAnEnding),
            Some((whole, fraction)) => (whole, Some(fraction)),
            None if text.is_empty() => return Err(NotAnEnding),
            None => (text, None),
        };
        // '0.95' is a way to write '.95'.
        let whole = if whole == "0" && fraction.is_some() { "" } else { whole };
        let all = [whole, fraction.unwrap_or_default()];
        if whole.len() > Self::DIGITS_AT_MOST
            || all.iter().any(|digits| !digits.bytes().all(|digit| digit.is_ascii_digit()))
        {
            return Err(NotAnEnding);
        }
        let amount = format!("{}.{}", padded(whole), padded(fraction.unwrap_or_default()));
        Ok(Self {
            amount: Decimal::from_str_exact(&amount).map_err(|_| NotAnEnding)?.normalize(),
            step: (0..whole.len()).fold(Decimal::ONE, |step, _| step * Decimal::TEN),
            has_point: fraction.is_some(),
        })
    }
}

fn padded(digits: &str) -> &str {
    if digits.is_empty() { "0" } else { digits }
}

impl fmt::Display for Ending {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if !self.has_point {
            let digits = self.step.to_string().len() - 1;
            return write!(f, "{:0>digits$}", self.amount.to_string());
        }
        let digits = self.amount.scale().max(2) as usize;
        let text = format!("{:.digits$}", self.amount);
        f.write_str(if self.step == Decimal::ONE { text.trim_start_matches('0') } else { &text })
    }
}

/// Why there is no price.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum NoPrice {
    /// Fees and margin together take all of any price.
    #[error(
        "fees of {fee} % of the price and a margin of {margin} % of it leave nothing for the goods: no price can \
         reach that"
    )]
    NeverReached {
        /// Per cent of the price.
        fee: Decimal,
        /// Per cent of the price; 0 where the margin is none.
        margin: Decimal,
    },
    /// The ending or the step does not fit the currency.
    #[error("{rounding}, and {currency} has {}", why_it_does_not_fit(*.rounding, *.currency))]
    DoesNotFit {
        /// How prices are to be written.
        rounding: Rounding,
        /// The currency of the prices.
        currency: Currency,
    },
    /// A fee per unit is known, but not in the currency of the prices.
    #[error("the fee for each unit is not known in {0}")]
    FeeInOtherCurrency(Currency),
    /// An amount with more digits than can be reckoned with exactly.
    #[error("an amount has too many digits to be reckoned with exactly")]
    TooLarge,
}

fn why_it_does_not_fit(rounding: Rounding, currency: Currency) -> String {
    match (rounding, currency.digits()) {
        (_, 0) => "no unit smaller than 1".to_owned(),
        (Rounding::Ending(ending), digits) if !ending.has_point => {
            format!("{digits} digits behind the point: write the ending with its point")
        }
        (_, digits) => format!("{digits} digits behind the point"),
    }
}

/// What is left of a price.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Sum {
    /// What a supplier asks for one unit.
    pub unit_cost: Money,
    /// What selling one unit costs beside the goods; exact, so it may have more digits than the currency.
    pub fees: Money,
    /// What is left; exact.
    pub margin: Money,
    /// What is left, in per cent of the price, rounded down to two digits behind the point.
    pub margin_percent: Decimal,
}

/// All that prices follow from but the cost of goods.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Reckoning {
    currency: Currency,
    percent_fee: Decimal,
    unit_fee: Decimal,
    margin: Margin,
    /// Prices are `ending` and any number of times `step`.
    step: Decimal,
    ending: Decimal,
}

impl Reckoning {
    /// Checks that the rule can be kept in a currency.
    ///
    /// # Errors
    /// [`NoPrice`] where no price at all can reach the margin, a fee is not known in the currency, or prices cannot be
    /// written as wanted in it.
    pub fn new(currency: Currency, fees: &Fees, margin: Margin, rounding: Rounding) -> Result<Self, NoPrice> {
        let own = fees.per_unit.iter().find(|fee| fee.currency() == currency);
        if own.is_none() && !fees.per_unit.is_empty() {
            return Err(NoPrice::FeeInOtherCurrency(currency));
        }
        let digits = u32::from(currency.digits());
        let fits = |amount: Decimal| amount.normalize().scale() <= digits;
        let (step, ending) = match rounding {
            Rounding::SmallestUnit => (Decimal::new(1, digits), Decimal::ZERO),
            Rounding::Ending(ending) if fits(ending.amount) && ending.has_point == (digits > 0) => {
                (ending.step, ending.amount)
            }
            Rounding::Step(step) if fits(step) && step > Decimal::ZERO => (step, Decimal::ZERO),
            Rounding::Ending(_) | Rounding::Step(_) => {
                return Err(NoPrice::DoesNotFit { rounding, currency });
            }
        };
        let reckoning = Self {
            currency,
            percent_fee: fees.percent_of_price.normalize(),
            unit_fee: own.map_or(Decimal::ZERO, |fee| fee.amount()),
            margin,
            step,
            ending,
        };
        let of_price = match margin {
            Margin::PercentOfPrice(percent) => percent.normalize(),
            Margin::PerUnit(_) | Margin::PercentOfCost(_) => Decimal::ZERO,
        };
        let all = reckoning.percent_fee.checked_add(of_price).ok_or(NoPrice::TooLarge)?;
        if all >= Decimal::ONE_HUNDRED {
            return Err(NoPrice::NeverReached { fee: reckoning.percent_fee, margin: of_price });
        }
        Ok(reckoning)
    }

    /// The currency of the prices.
    pub fn currency(&self) -> Currency {
        self.currency
    }

    /// The smallest price above zero that is written as wanted and reaches the margin.
    ///
    /// # Errors
    /// [`NoPrice::TooLarge`].
    pub fn smallest_price(&self, unit_cost: Decimal) -> Result<Decimal, NoPrice> {
        self.smallest(unit_cost).ok_or(NoPrice::TooLarge)
    }

    fn smallest(&self, unit_cost: Decimal) -> Option<Decimal> {
        let Bound { kept, needed, scale } = self.bound(unit_cost, Decimal::ZERO)?;
        let (step, ending) = (units(self.step, scale)?, units(self.ending, scale)?);
        let least = ceiling(needed, kept)?.max(1);
        let steps = ceiling(least.checked_sub(ending)?, step)?.max(0);
        let price = steps.checked_mul(step)?.checked_add(ending)?;
        decimal(price, scale)
    }

    /// Whether a price reaches the margin.
    ///
    /// # Errors
    /// [`NoPrice::TooLarge`].
    pub fn reaches(&self, price: Decimal, unit_cost: Decimal) -> Result<bool, NoPrice> {
        let reaches = || {
            let Bound { kept, needed, scale } = self.bound(unit_cost, price)?;
            Some(units(price, scale)?.checked_mul(kept)? >= needed)
        };
        reaches().ok_or(NoPrice::TooLarge)
    }

    /// What is left of a price.
    ///
    /// # Errors
    /// [`NoPrice::TooLarge`].
    pub fn sum(&self, price: Decimal, unit_cost: Decimal) -> Result<Sum, NoPrice> {
        let sum = || {
            let (price, percent) = (price.normalize(), self.percent_fee);
            let of_price = price.mantissa().checked_mul(percent.mantissa())?;
            let of_price = decimal(of_price, price.scale().checked_add(percent.scale())?.checked_add(2)?)?;
            let scale = of_price.scale().max(price.scale()).max(unit_cost.scale()).max(self.unit_fee.scale());
            let exact = |amount: Decimal| units(amount, scale);
            let fees = exact(of_price)?.checked_add(exact(self.unit_fee)?)?;
            let margin = exact(price)?.checked_sub(exact(unit_cost)?)?.checked_sub(fees)?;
            // Two digits behind the point of per cent are four of a share.
            let percent = match exact(price)? {
                0 => 0,
                whole => margin.checked_mul(10_000)?.div_euclid(whole),
            };
            let money = |units: i128| Some(Money::new(decimal(units, scale)?, self.currency));
            Some(Sum {
                unit_cost: Money::new(unit_cost, self.currency),
                fees: money(fees)?,
                margin: money(margin)?,
                margin_percent: decimal(percent, 2)?,
            })
        };
        sum().ok_or(NoPrice::TooLarge)
    }

    /// A price reaches the margin where so many times the price is at least so much.
    fn bound(&self, unit_cost: Decimal, price: Decimal) -> Option<Bound> {
        let (of_price, per_unit, of_cost) = match self.margin {
            Margin::PercentOfPrice(percent) => (percent, Decimal::ZERO, Decimal::ZERO),
            Margin::PerUnit(amount) => (Decimal::ZERO, amount, Decimal::ZERO),
            Margin::PercentOfCost(percent) => (Decimal::ZERO, Decimal::ZERO, percent),
        };
        let largest = |amounts: &[Decimal]| amounts.iter().map(|amount| amount.normalize().scale()).max();
        let scale = largest(&[unit_cost, self.unit_fee, per_unit, price, self.step, self.ending])?;
        let percent_scale = largest(&[self.percent_fee, of_price, of_cost])?;
        let hundred = units(Decimal::ONE_HUNDRED, percent_scale)?;
        let percent = |percent: Decimal| units(percent, percent_scale);
        let kept = hundred.checked_sub(percent(self.percent_fee)?)?.checked_sub(percent(of_price)?)?;
        let cost = units(unit_cost, scale)?;
        let paid = cost.checked_add(units(self.unit_fee, scale)?)?.checked_add(units(per_unit, scale)?)?;
        let marked_up = cost.checked_mul(percent(of_cost)?)?;
        let needed = paid.checked_mul(hundred)?.checked_add(marked_up)?;
        Some(Bound { kept, needed, scale })
    }
}

/// `kept` times the price, in units of `scale` digits behind the point, must be at least `needed`. `kept` is above zero.
struct Bound {
    kept: i128,
    needed: i128,
    scale: u32,
}

/// An amount in units of so many digits behind the point, which are enough for it.
fn units(amount: Decimal, scale: u32) -> Option<i128> {
    let amount = amount.normalize();
    let more = scale.checked_sub(amount.scale())?;
    amount.mantissa().checked_mul(10_i128.checked_pow(more)?)
}

fn decimal(units: i128, scale: u32) -> Option<Decimal> {
    Decimal::try_from_i128_with_scale(units, scale).ok().map(|amount| amount.normalize())
}

/// A quotient, rounded up; the divisor is above zero.
fn ceiling(dividend: i128, divisor: i128) -> Option<i128> {
    let down = dividend.checked_div_euclid(divisor)?;
    let is_exact = down.checked_mul(divisor)? == dividend;
    if is_exact { Some(down) } else { down.checked_add(1) }
}
