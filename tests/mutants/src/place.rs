//! Where in a file a mutant is chosen while the program runs: the parts of an expression that both of its forms need.

use std::ops::Range;
use syn::spanned::Spanned;
use syn::visit::{self, Visit};

/// What is put round an expression.
pub enum Form {
    /// `l + r`: both sides are worked out once.
    Sum { left: Range<usize>, right: Range<usize> },
    /// `l < r`: both sides are looked at and not taken.
    Order { left: Range<usize>, right: Range<usize> },
    /// `l && r`, where the right one is worked out when it is asked for; true with `||`.
    Both { left: Range<usize>, right: Range<usize>, or: bool },
    /// `l += r`.
    Assign { left: Range<usize>, right: Range<usize> },
    /// `!x`, `-x`.
    Unary { of: Range<usize> },
    /// What stands between an arm's pattern and its arrow; whether another arm takes what this one does.
    Arm { guard: Option<Range<usize>>, spare: bool },
    /// `f: value` in `S { f: value, ..base }`.
    Field { name: String, value: Range<usize>, base: Range<usize> },
    /// The beginning of a function's body.
    Body,
}

/// A place in a file, and where the list of mutants says that it is.
pub struct Place {
    pub key: usize,
    pub span: Range<usize>,
    pub sign: String,
    pub form: Form,
}

#[derive(Default)]
struct Finder {
    places: Vec<Place>,
}

/// Every place of a file where there may be a mutant, without bodies.
pub fn places(text: &str) -> Result<Vec<Place>, syn::Error> {
    let mut finder = Finder::default();
    finder.visit_file(&syn::parse_file(text)?);
    Ok(finder.places)
}

fn at(of: &impl Spanned) -> Range<usize> {
    of.span().byte_range()
}

fn has_let(of: &syn::Expr) -> bool {
    match of {
        syn::Expr::Let(_) => true,
        syn::Expr::Binary(of) => has_let(&of.left) || has_let(&of.right),
        _ => false,
    }
}

impl<'ast> Visit<'ast> for Finder {
    fn visit_expr_binary(&mut self, of: &'ast syn::ExprBinary) {
        use syn::BinOp;
        let (left, right) = (at(&*of.left), at(&*of.right));
        let form = match of.op {
            BinOp::And(_) | BinOp::Or(_) if has_let(&of.left) || has_let(&of.right) => None,
            BinOp::And(_) => Some(Form::Both { left, right, or: false }),
            BinOp::Or(_) => Some(Form::Both { left, right, or: true }),
            BinOp::Eq(_) | BinOp::Ne(_) | BinOp::Lt(_) | BinOp::Le(_) | BinOp::Gt(_) | BinOp::Ge(_) => {
                Some(Form::Order { left, right })
            }
            BinOp::Add(_) | BinOp::Sub(_) | BinOp::Mul(_) | BinOp::Div(_) | BinOp::Rem(_) => {
                Some(Form::Sum { left, right })
            }
            BinOp::BitAnd(_) | BinOp::BitOr(_) | BinOp::BitXor(_) | BinOp::Shl(_) | BinOp::Shr(_) => {
                Some(Form::Sum { left, right })
            }
            _ => Some(Form::Assign { left, right }),
        };
        if let Some(form) = form {
            let op = at(&of.op);
            self.places.push(Place { key: op.start, span: at(of), sign: String::new(), form });
        }
        visit::visit_expr_binary(self, of);
    }

    fn visit_expr_unary(&mut self, of: &'ast syn::ExprUnary) {
        let sign = match of.op {
            syn::UnOp::Not(_) => "!",
            syn::UnOp::Neg(_) => "-",
            _ => "",
        };
        if !sign.is_empty() {
            self.places.push(Place {
                key: at(&of.op).start,
                span: at(of),
                sign: sign.into(),
                form: Form::Unary { of: at(&*of.expr) },
            });
        }
        visit::visit_expr_unary(self, of);
    }

    fn visit_expr_match(&mut self, of: &'ast syn::ExprMatch) {
        let takes_all = |arm: &syn::Arm| {
            arm.guard.is_none()
                && match &arm.pat {
                    syn::Pat::Wild(_) => true,
                    syn::Pat::Ident(of) => of.subpat.is_none() && of.ident.to_string().starts_with(char::is_lowercase),
                    _ => false,
                }
        };
        for (index, arm) in of.arms.iter().enumerate() {
            let (begin, end) = (at(&arm.pat).end, at(&arm.fat_arrow_token).start);
            let guard = arm.guard.as_ref().map(|(_, guard)| at(&**guard));
            let spare = arm.guard.is_some() || of.arms.iter().skip(index + 1).any(takes_all);
            self.places.push(Place {
                key: at(arm).start,
                span: begin..end,
                sign: String::new(),
                form: Form::Arm { guard, spare },
            });
        }
        visit::visit_expr_match(self, of);
    }

    fn visit_expr_struct(&mut self, of: &'ast syn::ExprStruct) {
        if let Some(base) = &of.rest {
            for field in &of.fields {
                let syn::Member::Named(name) = &field.member else { continue };
                let form = Form::Field { name: name.to_string(), value: at(&field.expr), base: at(&**base) };
                self.places.push(Place { key: at(field).start, span: at(field), sign: String::new(), form });
            }
        }
        visit::visit_expr_struct(self, of);
    }
}
