#pragma once

#include <cstddef>
#include <vector>

#include "console/advise/assessment.hpp"
#include "console/charts/curves.hpp"
#include "console/charts/interval_rows.hpp"

/// Kinds at one place, as charts.
namespace stonecall::plates {

/// Which rows of `ground.kinds` say something: the kind is wanted, bagged, counted, met, named
/// absent, or its share has a basis of its own. The others are only in the vocabulary.
bool says_something(const advise::KindRow& row);

/// Shares as dot and 90 % interval for these rows of `ground.kinds`; the n-th kind of the picture
/// is series n. Names and figures in the gutters where the caller gives them width.
charts::IntervalRows share_plate(const advise::Ground& ground,
                                 const std::vector<std::size_t>& rows);

/// `ground` with the kinds of `order` first and in its order, those it does not know without a
/// word.
advise::Ground in_order_of(const advise::Ground& ground, const advise::Ground& order);

/// Shares as known then, and below each, thin and hollow, as known at the end; both with the same
/// kinds in the same order. A kind without a basis then is faint.
charts::IntervalRows then_and_end_plate(const advise::Ground& then, const advise::Ground& end,
                                        const std::vector<std::size_t>& rows);

/// Kinds met over rocks looked at; empty points where there is no basis.
charts::Growth growth_plate(const advise::NotSeenYet& unseen);

/// "66 % (57–74)"; a mean under 1 % is written finer, and the ends where both are under 2 %: "0.4 %
/// (0–2)".
std::string share_text(const advise::Figure& share);
/// The mean alone, "66 %", and the interval alone, "57–74".
std::string mean_text(const advise::Figure& share);
std::string interval_text(const advise::Figure& share);

/// "typical here (92 %), at all other stops too": how common the kind is, with the chance that this
/// is right, and where else it is found; empty: no basis.
std::string label_text(const advise::KindRow& row);

/// "Rests on 34 counted in 4 looks and 3 spoken shares; 11 chosen samples not used."
std::string basis_text(const advise::Basis& basis);

}  // namespace stonecall::plates
