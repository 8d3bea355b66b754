//! The straight path: orders of which a few numbers show that every line is answered by its own variant and that no
//! check can be raised. They are counted; all others go the usual way, through [`crate::reconcile`].
//!
//! Only what is certain is counted here. In doubt the answer is 'look at its rows', which costs time and nothing
//! else. Must not know: rows, ids, or how the numbers were read. Start reading at [`Straight`].

use std::collections::{BTreeSet, HashMap};

use chrono::TimeDelta;
use model::book::{LinkScope, OrderLine};
use model::outcome::Totals;
use model::rules::Graces;
use model::straight::{Age, Counted, LineFacts, OrderFacts, Reckoner, Rule, SentFacts, Standing};
use model::{Book, ListingId, Rules, Sku, SupplierId, VariantId};

use crate::catalogue::{BySku, Catalogue, VariantIndex};
use crate::resolve::{Asked, From, LinkPart, Links};

/// Links and variants by number, made once for a book.
pub struct Straight<'a> {
    catalogue: Catalogue<'a>,
    links: Links<'a>,
    rules: &'a Rules,
    knows_submissions: bool,
    /// First that of no link, then one per scope of the links table, then one per variant.
    classes: Vec<Class<'a>>,
    by_scope: HashMap<&'a LinkScope, usize>,
    first_variant: usize,
}

/// What a link means for the lines that have it.
struct Class<'a> {
    /// It is a link, and in force whatever else may be.
    is_certain: bool,
    /// The variants that one unit needs, each with how many of it; none of own stock.
    parts: Vec<(u32, u32)>,
    /// The longest of its parts' graces.
    submit: Age,
    parcel_gap: Age,
    mark: Age,
    /// The listing, where it is a link for a whole one.
    listing: Option<&'a ListingId>,
}

impl Class<'_> {
    fn is_own_stock(&self) -> bool {
        self.is_certain && self.parts.is_empty()
    }
}

/// Of a line whose link is for its whole listing although its SKU leads to a variant. See [`Rule::link`].
const OUTRANKS: u32 = 1;

impl<'a> Straight<'a> {
    /// From the tables without orders. `None` where there is no `variants` table: what stands in for it is not
    /// known before all submissions are read.
    pub fn new(book: &'a Book, rules: &'a Rules, knows_submissions: bool) -> Option<Self> {
        let variants = book.variants.as_ref()?;
        let mut catalogue = Catalogue::of_table(variants, &[]);
        let links = Links::new(book.links.as_deref().unwrap_or_default(), &book.owner_links, &mut catalogue);
        let mut straight = Self {
            classes: vec![Class::of_parts(rules, &catalogue, &[], false, None)],
            by_scope: HashMap::new(),
            first_variant: 0,
            catalogue,
            links,
            rules,
            knows_submissions,
        };
        straight.number_links();
        straight.number_variants(variants.len());
        Some(straight)
    }

    fn number_links(&mut self) {
        for (scope, parts, is_certain) in self.links.certain() {
            let listing = match scope {
                LinkScope::Listing(listing) => Some(listing),
                LinkScope::Offer(..) | LinkScope::Sku(_) => None,
            };
            self.by_scope.insert(scope, self.classes.len());
            self.classes.push(Class::of_parts(self.rules, &self.catalogue, parts, is_certain, listing));
        }
    }

    fn number_variants(&mut self, variants: usize) {
        self.first_variant = self.classes.len();
        for variant in 0..variants {
            let supplier = self.catalogue.get(variant).supplier;
            let parts = [LinkPart { supplier, variant: Some(variant), units: 1 }];
            self.classes.push(Class::of_parts(self.rules, &self.catalogue, &parts, true, None));
        }
    }
}

impl<'a> Class<'a> {
    fn of_parts(
        rules: &Rules,
        catalogue: &Catalogue<'_>,
        parts: &[LinkPart<'_>],
        is_certain: bool,
        listing: Option<&'a ListingId>,
    ) -> Self {
        let parts: Vec<(VariantIndex, u32)> =
            parts.iter().filter_map(|part| Some((part.variant?, part.units))).collect();
        let longest = |of: fn(&Graces) -> TimeDelta| {
            let graces = parts.iter().map(|(part, _)| of(rules.graces_of(catalogue.get(*part).supplier)));
            seconds(graces.max().unwrap_or_else(|| of(&rules.graces)))
        };
        Self {
            is_certain,
            submit: longest(|graces| graces.submit),
            parcel_gap: longest(|graces| graces.parcel_gap),
            mark: longest(|graces| graces.mark),
            parts: parts.iter().map(|(part, units)| (*part as u32, *units)).collect(),
            listing,
        }
    }
}

/// In whole seconds, rounded down.
fn seconds(span: TimeDelta) -> Age {
    Age::try_from(span.num_seconds().max(0)).unwrap_or(Age::MAX)
}

impl Rule for Straight<'_> {
    fn link(&self, line: &OrderLine) -> u32 {
        let link = self.links.resolve(&self.catalogue, Asked::of_line(line));
        let by_sku = line.sku.as_ref().map_or(BySku::Nothing, |sku| self.catalogue.by_sku(sku));
        let class = match (link.from, by_sku) {
            (From::Nothing, _) => 0,
            (From::Rows(scope), _) => self.by_scope.get(scope).copied().unwrap_or(0),
            (From::Variant(_), BySku::One(variant)) => self.first_variant + variant,
            (From::Variant(_), _) => 0,
        };
        let outranks = self.classes[class].listing.is_some() && by_sku != BySku::Nothing;
        2 * class as u32 + if outranks { OUTRANKS } else { 0 }
    }

    fn variant(&self, supplier: &SupplierId, variant_id: &VariantId) -> Option<u32> {
        self.catalogue.find(supplier, variant_id).map(|variant| variant as u32)
    }

    fn variant_of_sku(&self, supplier: &SupplierId, sku: &Sku) -> Option<u32> {
        match self.catalogue.by_sku_at(supplier, sku) {
            BySku::One(variant) => Some(variant as u32),
            BySku::Nothing | BySku::Several => None,
        }
    }

    fn graces(&self, supplier: &SupplierId) -> (Age, Age) {
        let graces = self.rules.graces_of(supplier);
        (seconds(graces.hold), seconds(graces.start))
    }

    fn reckoner(&self) -> Box<dyn Reckoner + '_> {
        Box::new(Reckoning {
            straight: self,
            totals: Totals::default(),
            outranking: BTreeSet::new(),
            needs: Vec::new(),
            sent: Vec::new(),
        })
    }
}

/// What one part of a line needs.
#[derive(Clone, Copy)]
struct Need {
    variant: u32,
    line: u64,
    /// Which of the order's lines.
    index: usize,
    per_unit: u32,
    units: u64,
    /// Units that name the line.
    named: u64,
}

struct Reckoning<'s, 'a> {
    straight: &'s Straight<'a>,
    totals: Totals,
    outranking: BTreeSet<usize>,
    /// Of the order that is being counted.
    needs: Vec<Need>,
    sent: Vec<SentFacts>,
}

impl Reckoner for Reckoning<'_, '_> {
    fn count(&mut self, order: OrderFacts, lines: &[LineFacts], sent: &[SentFacts]) -> bool {
        let of_order = match order.standing {
            Standing::Later => return false,
            Standing::Idle if sent.is_empty() => Some(Totals::default()),
            Standing::Idle => None,
            Standing::Live => self.live(order, lines, sent),
        };
        let Some(of_order) = of_order else { return false };
        for line in lines.iter().filter(|line| line.link & OUTRANKS != 0) {
            self.outranking.insert(class_of(line));
        }
        if order.is_reported {
            self.totals += Totals { orders: 1, lines: lines.len() as u64, ..of_order };
        }
        true
    }

    fn counted(&self) -> Counted {
        let listing = |class: &usize| self.straight.classes[*class].listing.cloned();
        Counted {
            totals: self.totals,
            listings_outranking: self.outranking.iter().filter_map(listing).collect(),
        }
    }
}

fn class_of(line: &LineFacts) -> usize {
    (line.link / 2) as usize
}

impl Reckoning<'_, '_> {
    /// What there is to count of a live order; `None` where that is not certain.
    fn live(&mut self, order: OrderFacts, lines: &[LineFacts], sent: &[SentFacts]) -> Option<Totals> {
        let mut totals = self.gather(lines)?;
        self.sent.clear();
        self.sent.extend(sent.iter().filter(|sent| sent.units > 0));
        let owed = totals.units_demanded - totals.own_stock;
        let graces = Longest::of(lines.iter().map(|line| &self.straight.classes[class_of(line)]));
        if self.sent.is_empty() {
            // Nothing can be missing before the grace is over, nor where nothing is known of what was sent.
            let is_due = order.waiting > graces.submit || order.is_past_promise;
            if !self.needs.is_empty() && self.straight.knows_submissions && is_due {
                return None;
            }
            totals.uncovered = owed;
            return Some(totals);
        }
        if !self.each_is_answered() {
            return None;
        }
        totals.covered = owed;
        let gone = self.sent.iter().filter(|sent| sent.is_gone);
        if gone.clone().count() == self.sent.len() {
            let last = gone.map(|sent| sent.last_gone).min().unwrap_or(0);
            totals.dispatched = owed;
            return (!order.is_open || last <= graces.mark).then_some(totals);
        }
        let first = gone.map(|sent| sent.first_gone).max().unwrap_or(0);
        if order.is_past_promise || first > graces.parcel_gap {
            return None;
        }
        totals.dispatched = self.dispatched(lines)?;
        Some(totals)
    }

    /// Notes what each part of each line needs, and counts what is owed. `None` where a line with demand has no link
    /// that is certain, or where the order has no lines.
    fn gather(&mut self, lines: &[LineFacts]) -> Option<Totals> {
        let mut totals = Totals::default();
        self.needs.clear();
        for (index, line) in lines.iter().enumerate().filter(|(_, line)| line.owed > 0) {
            let class = &self.straight.classes[class_of(line)];
            totals.units_demanded += u64::from(line.owed);
            if class.is_own_stock() {
                totals.own_stock += u64::from(line.owed);
                continue;
            }
            if !class.is_certain {
                return None;
            }
            self.needs.extend(class.parts.iter().map(|(variant, per_unit)| Need {
                variant: *variant,
                line: line.line,
                index,
                per_unit: *per_unit,
                units: u64::from(line.owed) * u64::from(*per_unit),
                named: 0,
            }));
        }
        self.needs.sort_unstable_by_key(|need| (need.variant, need.line));
        (!lines.is_empty()).then_some(totals)
    }

    /// Whether of each variant as many units were sent as are needed, and those that name a line name one that needs
    /// so many of it. Then every unit is tied in way 1 or 2, and none in another way: no submission line names a line
    /// of another variant or one without a link.
    fn each_is_answered(&mut self) -> bool {
        self.sent.sort_unstable_by_key(|sent| sent.variant);
        let mut rest = self.needs.as_mut_slice();
        for sent in self.sent.chunk_by(|a, b| a.variant == b.variant) {
            let Some(variant) = sent.first().map(|sent| sent.variant) else { return false };
            let count = rest.iter().take_while(|need| need.variant == variant).count();
            let (needs, behind) = rest.split_at_mut(count);
            rest = behind;
            let units_sent: u64 = sent.iter().map(|sent| u64::from(sent.units)).sum();
            if units_sent != needs.iter().map(|need| need.units).sum::<u64>() {
                return false;
            }
            for sent in sent.iter().filter(|sent| sent.names != 0) {
                let Ok(at) = needs.binary_search_by_key(&sent.names, |need| need.line) else { return false };
                let need = &mut needs[at];
                need.named += u64::from(sent.units);
                if need.named > need.units {
                    return false;
                }
            }
        }
        rest.is_empty()
    }

    /// Units of the lines of which all parts have gone. `None` where two lines need the same variant, so that it has
    /// to be found out whose units have gone.
    fn dispatched(&mut self, lines: &[LineFacts]) -> Option<u64> {
        if self.needs.windows(2).any(|pair| pair[0].variant == pair[1].variant) {
            return None;
        }
        self.needs.sort_unstable_by_key(|need| need.index);
        let gone_of = |need: &Need| {
            let first = self.sent.partition_point(|sent| sent.variant < need.variant);
            let of_variant = self.sent[first..].iter().take_while(|sent| sent.variant == need.variant);
            let gone = of_variant.filter(|sent| sent.is_gone).map(|sent| u64::from(sent.units));
            gone.sum::<u64>() / u64::from(need.per_unit)
        };
        let of_lines = self.needs.chunk_by(|a, b| a.index == b.index).map(|parts| {
            let least = parts.iter().map(gone_of).min().unwrap_or(0);
            least.min(parts.first().map_or(0, |part| u64::from(lines[part.index].owed)))
        });
        Some(of_lines.sum())
    }
}

/// The longest graces of an order's lines that are linked and made by a supplier.
struct Longest {
    submit: Age,
    parcel_gap: Age,
    mark: Age,
}

impl Longest {
    fn of<'c, 'a: 'c>(classes: impl Iterator<Item = &'c Class<'a>>) -> Self {
        let mut longest = Self { submit: 0, parcel_gap: 0, mark: 0 };
        for class in classes.filter(|class| class.is_certain && !class.is_own_stock()) {
            longest.submit = longest.submit.max(class.submit);
            longest.parcel_gap = longest.parcel_gap.max(class.parcel_gap);
            longest.mark = longest.mark.max(class.mark);
        }
        longest
    }
}
