#include <algorithm>
#include <cmath>

#include "console/reading/recognisers.hpp"

namespace stonecall::reading {
namespace {

using At = Draft::At;

double cut(double percent) {
  return std::clamp(percent, 0.0, 100.0);
}

Portion around(double percent, double spread) {
  return {cut(percent - spread), cut(percent + spread), cut(percent)};
}
Portion between(double low, double high) {
  const double a = cut(std::min(low, high));
  const double b = cut(std::max(low, high));
  return {a, b, (a + b) / 2};
}

struct Hedge {
  bool approx = false;
  bool at_most = false;
  bool at_least = false;
  At first = 0;  ///< first item that belongs to the amount
};

Hedge hedge_before(const Draft& draft, At i) {
  Hedge hedge{false, false, false, i};
  for (At k = i - 1; k >= 0 && k >= i - 4; --k) {
    const Item& item = draft.at(k);
    if (item.is(Sense::approx))
      hedge.approx = true;
    else if (item.is(Sense::at_most))
      hedge.at_most = true;
    else if (item.is(Sense::at_least))
      hedge.at_least = true;
    else if (!item.is(Sense::determiner) && !item.is(Sense::filler) &&
             !item.any_of({"just", "only", "well", "very", "good", "bit", "like"}))
      break;
    if (item.is(Sense::approx) || item.is(Sense::at_most) || item.is(Sense::at_least))
      hedge.first = k;
  }
  // "can't be more than two percent"
  if (hedge.at_least && draft.any(hedge.first - 3, hedge.first - 1, [](const Item& item) {
        return item.is(Sense::sees_not) || item.is(Sense::not_) || item.any_of({"never", "won't"});
      })) {
    hedge.at_least = false;
    hedge.at_most = true;
  }
  return hedge;
}

Portion with(const Hedge& hedge, double percent, double spread) {
  if (hedge.at_most) return between(0, percent);
  if (hedge.at_least) return between(percent, percent + 20);
  return around(percent, spread);
}

/// "ten percent, tops"
bool at_most_after(const Draft& draft, At i) {
  const At word = draft.at(i).comma() ? i + 1 : i;
  return draft.at(word).is(Sense::at_most) && draft.at(word + 1).mark();
}

/// "ninety percent plus", "ninety percent or more"
bool at_least_after(const Draft& draft, At i) {
  return (draft.at(i).is("plus") && !draft.at(i + 1).number() && !draft.at(i + 1).rock()) ||
         (draft.at(i).is("or") && draft.at(i + 1).any_of({"more", "better", "over"}));
}

bool approx_after(const Draft& draft, At i) {
  return draft.at(i).is(Sense::approx) && !draft.at(i + 1).number();
}

/// "Ninety percent sure": how sure somebody is.
bool of_sureness(const Draft& draft, At after) {
  return draft.at(after).any_of({"sure", "certain", "confident", "positive", "convinced"});
}

class Finder {
 public:
  explicit Finder(const Draft& draft) : draft_(draft) {}

  std::vector<Amount> run() {
    for (At i = 0; i < draft_.size();) {
      const At next = take(i);
      i = next > i ? next : i + 1;
    }
    return std::move(found_);
  }

 private:
  bool free_number(At i) const {
    return draft_.at(i).number() && !draft_.at(i).used &&
           !(draft_.at(i).mutes & (Item::replaced | Item::gear));
  }

  /// "Sixty percent granite, sorry, I mean forty": what is said in place of a percentage.
  bool stands_for_percent(At i) const {
    const Item& cue = draft_.at(i - 1);
    if (!cue.is(Sense::correction) && !cue.is(Sense::soft_correction) && !cue.is("no") &&
        !(cue.comma() && (draft_.at(i - 2).is(Sense::correction) || draft_.at(i - 2).is("no"))))
      return false;
    return draft_.at(i + 1).mark() && draft_.at(i).low <= 100 &&
           draft_.any(i - 9, i - 1, [](const Item& item) {
             return item.is(Sense::percent) && (item.mutes & Item::replaced);
           });
  }

  /// Percent that the figures so far leave; where there are none, those of the note before.
  double left_over() const {
    double said = 0;
    for (const Amount& amount : found_) said += amount.figures ? amount.percent.best : 0;
    if (said > 0) return 100 - said;
    return draft_.context.said_before().left;
  }

  /// "The other thirty is basalt and granite, half each": the part said before, in as many pieces
  /// as kinds stand between.
  At split_part(At i) {
    if (found_.empty() || !found_.back().figures ||
        draft_.at(found_.back().last).sentence != draft_.at(i).sentence)
      return i + 1;
    int kinds = 0;
    for (At k = found_.back().last + 1; k < i; ++k) kinds += draft_.at(k).stated_rock() ? 1 : 0;
    if (kinds < 2) return i + 1;
    const double each = found_.back().percent.best / kinds;
    found_.pop_back();
    for (int k = 0; k < kinds; ++k) add(i, i, around(each, 5), true);
    return i + 1;
  }

  At add(At first, At last, Portion percent, bool figures) {
    found_.push_back({first, last, percent, figures, false, false});
    return last + 1;
  }

  /// "Not all of it", "nowhere near half": how much it is not.
  bool denied(At i) const {
    At before = i - 1;
    while (draft_.at(before).is(Sense::approx) || draft_.at(before).is("anywhere")) --before;
    return (draft_.at(before).any_of({"not", "isn't", "aren't", "wasn't", "weren't", "is not"}) ||
            draft_.at(before).is("nowhere")) &&
           (draft_.at(i).is(Sense::quantity) || draft_.at(i).kind == Item::Kind::fraction) &&
           draft_.at(i).low != 3 && !draft_.any(i, draft_.sentence_end(i), [](const Item& item) {
             return item.is(Sense::buried);
           });
  }

  At take(At i) {
    const Item& item = draft_.at(i);
    if (item.mutes & (Item::replaced | Item::gear)) return i + 1;
    if (denied(i)) return i + 1;
    if (free_number(i)) return take_number(i);
    if (item.kind == Item::Kind::fraction) return take_fraction(i);
    if (item.is(Sense::quantity)) return take_quantity(i);
    if (item.is(Sense::rest)) {
      // "the other twenty is tuff", where eighty were said: a figure like any other
      if (free_number(i + 1)) {
        const double value = draft_.at(i + 1).low;
        // "the remaining ten, fifteen"
        const At second = draft_.at(i + 2).comma() || draft_.at(i + 2).is("to") ? i + 3 : i + 2;
        if (free_number(second) && draft_.at(second).low > value &&
            std::abs((value + draft_.at(second).low) / 2 - left_over()) < 6)
          return add(i, second, between(value, draft_.at(second).low), true);
        if (draft_.at(i + 2).is(Sense::percent)) return i + 1;
        if (std::abs(value - left_over()) < 1.5) return add(i, i + 1, around(value, 5), true);
        return i + 2;
      }
      found_.push_back({i, i, {}, false, true, false});
      return i + 1;
    }
    if (item.is(Sense::half_half)) {
      const bool of_a_part = draft_.any(draft_.sentence_begin(i), i - 1, [](const Item& before) {
        return before.is(Sense::rest) || before.number();
      });
      if (of_a_part) return split_part(i);
      add(i, i, between(40, 60), true);
      return add(i, i, between(40, 60), true);
    }
    return i + 1;
  }

  At take_number(At i) {
    const Hedge hedge = hedge_before(draft_, i);
    // "two zero percent"
    if (draft_.at(i).digit && draft_.at(i + 1).digit && free_number(i + 1) &&
        draft_.at(i + 2).is(Sense::percent) && !draft_.at(i - 1).number())
      return add(hedge.first, i + 2,
                 with(hedge, 10 * draft_.at(i).low + draft_.at(i + 1).low, hedge.approx ? 10 : 5),
                 true);
    const double value = draft_.at(i).low;
    const Item& next = draft_.at(i + 1);
    const auto percent_at = [&](At k) { return draft_.at(k).is(Sense::percent); };
    // "ten percent", "ten percent to fifteen percent"
    if (percent_at(i + 1)) {
      if (of_sureness(draft_, i + 2)) return i + 2;
      const bool range =
          draft_.at(i + 2).any_of({"to", "or"}) && free_number(i + 3) && percent_at(i + 4);
      if (range) return add(hedge.first, i + 4, between(value, draft_.at(i + 3).low), true);
      Hedge whole = hedge;
      whole.approx = whole.approx || approx_after(draft_, i + 2);
      whole.at_most = whole.at_most || at_most_after(draft_, i + 2);
      whole.at_least = whole.at_least || at_least_after(draft_, i + 2);
      return add(hedge.first, i + 1, with(whole, value, whole.approx ? 10 : 5), true);
    }
    // "ten to fifteen percent", "seven or eight percent", "between five and ten percent"
    const bool between_and = next.is("and") && draft_.at(i - 1).is("between");
    if ((next.any_of({"to", "or"}) || between_and) && free_number(i + 2) && percent_at(i + 3)) {
      const double other = draft_.at(i + 2).low;
      const double spread = next.is("or") ? 5 : 0;
      return add(hedge.first, i + 3,
                 between(std::min(value, other) - spread, std::max(value, other) + spread), true);
    }
    // "forty, forty five percent": between the two
    const At beyond = next.comma() ? i + 2 : i + 1;
    if (free_number(beyond) && percent_at(beyond + 1) && value >= 5 &&
        draft_.at(beyond).low > value && draft_.at(beyond).low <= value + 10 &&
        !draft_.at(i - 1).rock() && !draft_.at(i - 1).number())
      return add(hedge.first, beyond + 1, between(value, draft_.at(beyond).low), true);
    // "White sinter. Ninety plus."
    if (at_least_after(draft_, i + 1) && value >= 20 && value < 100 &&
        draft_.at(next.is("or") ? i + 3 : i + 2).mark() &&
        !draft_.has_label(LabelSaid::Of::sample) && !draft_.has_label(LabelSaid::Of::bag))
      return add(hedge.first, i + 1, between(value, value + 20), true);
    // "ninety plus percent"
    if (next.is("plus") && percent_at(i + 2))
      return add(hedge.first, i + 2, between(value, value + 20), true);
    if (stands_for_percent(i)) return add(hedge.first, i, with(hedge, value, 5), true);
    // "twenty odd percent"
    if (next.is(Sense::approx) && percent_at(i + 2))
      return add(hedge.first, i + 2, around(value, 10), true);
    // "one in ten", "nine out of ten", "three of every ten"
    At of = draft_.at(i + 1).is(Sense::piece) ? i + 2 : i + 1;  // "one rock in four"
    if (draft_.at(of).is("out") && draft_.at(of + 1).is("of"))
      of += 2;
    else if (draft_.at(of).any_of({"in", "of", "per"}) || draft_.at(of).is(Sense::every))
      ++of;
    else
      of = -1;
    if (of > 0) {
      if (draft_.at(of).is(Sense::every) || draft_.at(of).is(Sense::filler)) ++of;
      const bool in_all = draft_.at(i + 1).is("of");  // "two of five": a count
      if (free_number(of) && draft_.at(of).low >= 2 && value <= draft_.at(of).low && !in_all) {
        const double part = 100 * value / draft_.at(of).low;
        Hedge whole = hedge;
        whole.at_most = whole.at_most || at_most_after(draft_, of + 1);
        return add(hedge.first, of, with(whole, part, 5), true);
      }
    }
    // "one flint in twenty rocks"
    if (value == 1 && next.rock() && draft_.at(i + 2).is("in") && free_number(i + 3) &&
        draft_.at(i + 3).low >= 2 && !draft_.at(i + 4).is(Sense::unit) &&
        !draft_.at(i + 4).is("places"))
      return add(i + 2, i + 3, with(hedge, 100 / draft_.at(i + 3).low, 5), true);
    // "one erratic in three", whatever is counted
    if (value == 1 && next.kind == Item::Kind::word && next.sense == Sense::none &&
        !next.any_of({"in", "of", "out", "per"}) && draft_.at(i + 2).is("in") &&
        free_number(i + 3) && draft_.at(i + 3).low >= 2 && !draft_.at(i + 4).is(Sense::unit))
      return add(hedge.first, i + 3, with(hedge, 100 / draft_.at(i + 3).low, 5), true);
    // "sixty forty": two parts of the whole
    const bool slash = next.is("slash");
    const At second = slash ? i + 2 : i + 1;
    if (free_number(second) && std::abs(value + draft_.at(second).low - 100) < 0.5 && value >= 5 &&
        draft_.at(second).low >= 5) {
      add(hedge.first, second, around(value, 10), true);
      return add(hedge.first, second, around(draft_.at(second).low, 10), true);
    }
    return i + 1;
  }

  At take_fraction(At i) {
    const Item& next = draft_.at(i + 1);
    // "half a metre", "quarter inch": measures, not parts
    const At measured = draft_.skip(i + 1, {Sense::determiner, Sense::preposition});
    if (draft_.at(measured).is(Sense::unit)) return i + 1;
    if (next.any_of({"hour", "mile", "way", "minute", "kilometre"})) return i + 1;
    const Hedge hedge = hedge_before(draft_, i);
    const double percent = 100 * draft_.at(i).low;
    if (draft_.at(i).low == 0.5) {
      if (hedge.at_least) return add(hedge.first, i, between(50, 70), true);
      if (hedge.at_most) return add(hedge.first, i, between(30, 50), true);
      return add(hedge.first, i, between(40, 60), true);
    }
    // "a quarter to a third"
    const bool between_and = next.is("and") && draft_.at(i - 1).is("between");
    if ((next.any_of({"to", "or"}) || between_and) &&
        draft_.at(i + 2).kind == Item::Kind::fraction) {
      return add(hedge.first, i + 2, between(percent, 100 * draft_.at(i + 2).low), true);
    }
    return add(hedge.first, i, with(hedge, percent, 7), true);
  }

  At take_quantity(At i) {
    if (of_sureness(draft_, i + 1)) return i + 1;
    const Item& item = draft_.at(i);
    Amount amount{i, i, between(item.low, item.high), false, false, item.low >= 95};
    // "very common", "rather scattered"
    if (draft_.at(i - 1).is("very") && item.low == 3) amount.percent = between(0, 5);
    found_.push_back(amount);
    return i + 1;
  }

  const Draft& draft_;
  std::vector<Amount> found_;
};

}  // namespace

std::vector<Amount> find_amounts(const Draft& draft) {
  return Finder(draft).run();
}

}  // namespace stonecall::reading
