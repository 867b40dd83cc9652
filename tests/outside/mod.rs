//! Checks against the world: standards, handbook tables, worked examples, facts of the trade. Each names its source; the
//! data they read stands in `data`.

mod alloy_figures;
mod cracking_cases;
mod cracking_orders;
mod disagreements;
mod geometry;
mod heat;
mod matrix;
mod sections;
mod selection;
mod signed;
mod strength_figures;
mod trade_facts;
