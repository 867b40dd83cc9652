//! The grammar of the rule language, made from `grammar/why.pest`. What its pairs mean is decided in `nodes.rs`.

#[derive(pest_derive::Parser)]
#[grammar = "../grammar/why.pest"]
pub(super) struct Grammar;
