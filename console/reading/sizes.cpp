#include <algorithm>
#include <cmath>
#include <optional>

#include "console/reading/recognisers.hpp"

namespace stonecall::reading {
namespace {

using At = Draft::At;

struct Measure {
  At first = 0;
  At last = 0;
  double mm = 0;
  bool coarse_unit = false;  ///< metres, feet: may as well be a distance
  int sides = 1;             ///< three of "twelve by eight by five"
};

bool figure(const Draft& draft, At i) {
  return draft.at(i).number() && !draft.at(i).used && !(draft.at(i).mutes & Item::replaced);
}
bool unit(const Draft& draft, At i) {
  return draft.at(i).is(Sense::unit);
}
bool by(const Draft& draft, At i) {
  return draft.at(i).any_of({"by", "times"});
}

double half_more(const Draft& draft, At& last) {
  // "a foot and a half"
  if (draft.at(last + 1).is("and") && draft.at(last + 2).kind == Item::Kind::fraction) {
    last += 2;
    return draft.at(last).low;
  }
  return 0;
}

/// A number with a unit from item i on, of whatever form.
std::optional<Measure> measure_at(const Draft& draft, At i) {
  const auto done = [&](At last, double mm, double factor, int sides = 1) {
    return Measure{i, last, mm, factor >= 300, sides};
  };
  if (figure(draft, i)) {
    double longest = draft.at(i).low;
    At last = i;
    // "three zero mil"
    if (draft.at(i).digit && draft.at(i + 1).digit && figure(draft, i + 1) && unit(draft, i + 2) &&
        !draft.at(i - 1).number()) {
      longest = 10 * longest + draft.at(i + 1).low;
      return done(i + 2, longest * draft.at(i + 2).low, draft.at(i + 2).low);
    }
    // "three inches by two by two", "twelve by eight by five inches"
    double factor = unit(draft, i + 1) ? draft.at(++last).low : 0;
    if (factor == 304.8 && figure(draft, last + 1) && unit(draft, last + 2) &&
        draft.at(last + 2).low == 25.4) {
      return done(last + 2, longest * factor + draft.at(last + 1).low * 25.4, factor);
    }
    if (factor == 0 && draft.at(i + 1).any_of({"to", "or"}) && figure(draft, i + 2) &&
        unit(draft, i + 3)) {
      return done(i + 3, (longest + draft.at(i + 2).low) / 2 * draft.at(i + 3).low,
                  draft.at(i + 3).low);
    }
    if (factor != 0 && draft.at(last + 1).any_of({"to", "or"}) && figure(draft, last + 2) &&
        unit(draft, last + 3)) {
      return done(last + 3,
                  (longest * factor + draft.at(last + 2).low * draft.at(last + 3).low) / 2, factor);
    }
    if (factor == 0 && draft.at(i + 1).is("and") && draft.at(i - 1).is("between") &&
        figure(draft, i + 2) && unit(draft, i + 3)) {
      return done(i + 3, (longest + draft.at(i + 2).low) / 2 * draft.at(i + 3).low,
                  draft.at(i + 3).low);
    }
    if (factor == 0 && draft.at(i + 1).is("and") && draft.at(i + 2).kind == Item::Kind::fraction &&
        unit(draft, i + 3)) {
      return done(i + 3, (longest + draft.at(i + 2).low) * draft.at(i + 3).low,
                  draft.at(i + 3).low);
    }
    int sides = 1;
    while (by(draft, last + 1) && figure(draft, last + 2)) {
      last += 2;
      ++sides;
      longest = std::max(longest, draft.at(last).low);
      if (unit(draft, last + 1)) factor = draft.at(++last).low;
    }
    // "two fifty by one fifty": millimetres, as one says them of a sample
    if (factor == 0 && sides > 1 && longest >= 60 && draft.has_label(LabelSaid::Of::sample))
      factor = 1;
    if (factor == 0) return std::nullopt;
    // "one metre thirty"
    if (factor == 1000 && last == i + 1 && longest < 10 && figure(draft, last + 1) &&
        draft.at(last + 1).low >= 5 && draft.at(last + 1).low < 100 && !unit(draft, last + 2) &&
        !draft.at(last + 2).is(Sense::percent) && !draft.at(last + 2).rock() &&
        !draft.at(last + 2).is(Sense::piece) && !by(draft, last + 2))
      return done(last + 1, longest * 1000 + 10 * draft.at(last + 1).low, factor);
    const double more = last == i + 1 ? half_more(draft, last) : 0;
    return done(last, (longest + more) * factor, factor, sides);
  }
  if (draft.at(i).kind == Item::Kind::fraction) {
    const At measured = draft.skip(i + 1, {Sense::preposition, Sense::determiner});
    // "quarter of a metre by ten centimetres"
    if (unit(draft, measured) && by(draft, measured + 1) && figure(draft, measured + 2) &&
        unit(draft, measured + 3))
      return done(measured + 3,
                  std::max(draft.at(i).low * draft.at(measured).low,
                           draft.at(measured + 2).low * draft.at(measured + 3).low),
                  draft.at(measured).low);
    if (unit(draft, measured))
      return done(measured, draft.at(i).low * draft.at(measured).low, draft.at(measured).low);
    return std::nullopt;
  }
  // "bag six thirteen foot across": a bag's number and then one foot
  const bool singular = draft.at(i).any_of({"foot", "metre", "meter", "yard"});
  if (unit(draft, i) && singular && draft.at(i + 1).is(Sense::side) &&
      (!draft.at(i - 1).number() || draft.at(i - 1).used) &&
      draft.at(i - 1).kind != Item::Kind::fraction && !draft.at(i + 1).is("by"))
    return done(i + 1, draft.at(i).low, draft.at(i).low);
  // "bag four twelve foot and a half across": the number is taken
  if (unit(draft, i) && draft.at(i).low > 100 && draft.at(i - 1).number() && draft.at(i - 1).used) {
    At last = i;
    const double more = half_more(draft, last);
    if (last > i) return done(last, (1 + more) * draft.at(i).low, draft.at(i).low);
  }
  const bool article = draft.at(i).any_of({"a", "an", "one", "half a", "under a", "over a"}) ||
                       draft.at(i).is(Sense::determiner) || draft.at(i).text.ends_with(" a");
  if (article && unit(draft, i + 1) &&
      !draft.at(i).any_of({"the", "this", "that", "these", "those", "my", "our"})) {
    At last = i + 1;
    // "a metre twenty high"
    if (draft.at(i + 1).low == 1000 && figure(draft, i + 2) && draft.at(i + 2).low < 100 &&
        draft.at(i + 3).is(Sense::side))
      return done(i + 2, 1000 + 10 * draft.at(i + 2).low, draft.at(i + 1).low);
    const double more = half_more(draft, last);
    return done(last, (1 + more) * draft.at(i + 1).low, draft.at(i + 1).low);
  }
  return std::nullopt;
}

/// A layer or a vein in the rock; a kind may be named after it ("lamp dyke").
bool of_layers(const Item& item) {
  if (item.rock())
    return item.text.ends_with(" dyke") || item.text.ends_with(" dike") ||
           item.text.ends_with(" vein") || item.text.ends_with(" seam") ||
           item.text.ends_with(" band");
  return item.is(Sense::thing_within) &&
         item.any_of({"dyke", "dike", "vein", "veins", "seam", "seams", "band", "bands", "layer",
                      "layers", "bed", "beds", "rind"});
}

/// Whether a number with a unit measures the rock and not a layer, a crystal or a way.
bool measures_rock(const Draft& draft, const Measure& measure) {
  const At begin = draft.clause_begin(measure.first);
  const At end = draft.clause_end(measure.last);
  const bool side =
      draft.any(measure.last + 1, std::min(end, measure.last + 4),
                [](const Item& item) { return item.is(Sense::side) || item.is(Sense::sized); }) ||
      draft.any(std::max(begin, measure.first - 3), measure.first - 1,
                [](const Item& item) { return item.is(Sense::side) || item.is(Sense::sized); });
  for (At i = measure.last + 1; i <= std::min(end, measure.last + 3); ++i) {
    // "two inches, nearly all of it buried"
    if (draft.at(i).is(Sense::side) || draft.at(i).is(Sense::quantity)) break;
    // "four inches lying on top of the gravel", "seven centimetres half under"
    if (draft.at(i).kind == Item::Kind::fraction || draft.at(i).is(Sense::burial) ||
        draft.at(i).is(Sense::loose) || draft.at(i).is(Sense::buried) ||
        draft.at(i).is(Sense::relation) || draft.at(i).any_of({"lying", "laying", "sitting"}))
      break;
    if (draft.at(i).is(Sense::distance) ||
        draft.at(i).any_of({"down", "up", "above", "below", "under", "of"}))
      return false;
    if (draft.at(i).is(Sense::thing_within)) return false;
    if (draft.at(i).rock() || draft.at(i).is(Sense::piece) || draft.at(i).is(Sense::bag) ||
        draft.at(i).is(Sense::colour))
      break;
  }
  const Item& before = draft.at(measure.first - 1);
  if (before.is(Sense::distance) ||
      before.any_of({"for", "every", "another", "within", "last", "next", "in", "past", "after"}))
    return false;
  for (At i = measure.first - 1; i >= std::max(begin, measure.first - 5); --i) {
    if (draft.at(i).is(Sense::thing_within) && !draft.at(i).used) return false;
    if (draft.at(i).rock() || draft.at(i).is(Sense::sample)) break;
  }
  // "garnets in the schist, tiny, two mil"
  const bool of_grains = !draft.has_label(LabelSaid::Of::sample) && !side &&
                         draft.any(draft.sentence_begin(measure.first), measure.first,
                                   [](const Item& item) { return item.is(Sense::thing_within); });
  if (of_grains) return false;
  if (measure.mm > 20000 || measure.mm < 1) return false;
  // "the dyke is dolerite, about two metres wide": how wide a layer is
  const bool of_layer = draft.at(measure.last + 1).any_of({"wide", "thick", "across", "or so"}) &&
                        !draft.has_label(LabelSaid::Of::sample) &&
                        draft.any(draft.sentence_begin(measure.first), measure.first, of_layers);
  // "I can see into it about ten metres", "it runs on for ten metres"
  const bool of_way =
      draft.any(std::max(begin, measure.first - 4), measure.first - 1, [](const Item& item) {
        return item.any_of(
            {"into", "runs", "run", "goes", "reaches", "extends", "walked", "climbed"});
      });
  if (of_layer || (of_way && measure.coarse_unit)) return false;
  // "a green stripe through it about a metre wide"
  if (draft.at(measure.last + 1).any_of({"wide", "across", "thick"}) &&
      draft.any(begin, measure.first, [](const Item& item) {
        return item.any_of({"through", "stripe", "streak", "stringer", "sheet", "sill"});
      }))
    return false;
  const bool sample = draft.has_label(LabelSaid::Of::sample);
  if (measure.coarse_unit && !side) {
    // "one big boulder of hornfels, a metre thirty": a clause that only measures
    const auto measures_only = [&](At i) {
      const Item& item = draft.at(i);
      return (i >= measure.first && i <= measure.last) || item.is(Sense::approx) ||
             item.is(Sense::at_least) || item.is(Sense::at_most) || item.is(Sense::filler) ||
             item.is(Sense::restart);
    };
    bool only = true;
    for (At i = begin; i <= end; ++i) only = only && measures_only(i);
    const At from = only ? draft.sentence_begin(measure.first) : begin;
    const bool thing = draft.any(from, end, [](const Item& item) {
      return item.rock() || item.is(Sense::piece) || item.is(Sense::one);
    });
    const bool up_to = draft.any(measure.first - 2, measure.first - 1,
                                 [](const Item& item) { return item.is("up to"); });
    const bool biggest = draft.any(begin, measure.first, [](const Item& item) {
      return item.any_of({"biggest", "largest", "big", "large"});
    });
    if (!thing && !up_to && !biggest && !(sample && measure.mm < 3000)) return false;
  }
  const bool any_rock =
      sample || side || measure.sides == 3 || draft.any(0, draft.size() - 1, [](const Item& item) {
        return item.rock() || item.is(Sense::piece) || item.is(Sense::one) ||
               item.is(Sense::compare) || item.is(Sense::size_of) || item.is(Sense::burial) ||
               item.is(Sense::loose);
      });
  return any_rock || draft.size() <= 8;
}

struct Comparison {
  At first = 0;
  At last = 0;
  double mm = 0;
};

/// "fist sized", "size of a tennis ball", "between an egg and a fist".
std::optional<Comparison> comparison_at(const Draft& draft, At i) {
  const Item& thing = draft.at(i);
  if (!thing.is(Sense::compare)) return std::nullopt;
  const auto bounded_back = [&](Sense sense) -> At {
    for (At k = i - 1; k >= 0 && k >= i - 4; --k) {
      if (draft.at(k).is(sense)) return k;
      if (draft.at(k).mark() || draft.at(k).rock()) break;
    }
    return -1;
  };
  const At size_of = bounded_back(Sense::size_of);
  // "egg to fist sized", "between egg and fist size"
  for (At k = i + 1; k <= i + 3; ++k) {
    if (draft.at(k).is(Sense::compare) && draft.any(i + 1, k - 1, [](const Item& item) {
          return item.any_of({"to", "and", "or"});
        })) {
      if (draft.at(k + 1).is(Sense::sized) ||
          (draft.at(k + 1).is("in") && draft.at(k + 2).is(Sense::sized)) ||
          draft.at(k).text.find("size") != std::string::npos || size_of >= 0) {
        return Comparison{i, k, (thing.low + draft.at(k).low) / 2};
      }
    }
    if (draft.at(k).mark()) break;
  }
  // "fist and a half across", "two fists long", "half a fist"
  if (draft.at(i + 1).is("and") && draft.at(i + 2).kind == Item::Kind::fraction)
    return Comparison{i, i + 2, thing.low * (1 + draft.at(i + 2).low)};
  if (thing.text == "fists" && draft.at(i - 1).number() && !draft.at(i - 1).used &&
      draft.at(i - 1).low > 0)
    return Comparison{i - 1, i, thing.low * draft.at(i - 1).low};
  const At part = draft.at(i - 1).is(Sense::determiner) ? i - 2 : i - 1;
  if (thing.is("fist") && draft.at(part).kind == Item::Kind::fraction && draft.at(part).low < 1)
    return Comparison{part, i, thing.low * draft.at(part).low};
  if (draft.at(i + 1).is(Sense::sized)) return Comparison{i, i + 1, thing.low};
  // "a vein through it, a hand wide"
  if (!draft.has_label(LabelSaid::Of::sample) && draft.any(draft.sentence_begin(i), i, of_layers))
    return std::nullopt;
  // "a hand across"
  if (draft.at(i + 1).any_of({"across", "long", "wide"}) && draft.at(i - 1).is(Sense::determiner))
    return Comparison{i, i + 1, thing.low};
  if (draft.at(i + 1).is("length")) return Comparison{i, i + 1, thing.low};
  if (thing.text.find("size") != std::string::npos) return Comparison{i, i, thing.low};
  if (size_of >= 0) {
    // "garnets the size of a pea"
    const At grown = draft.at(size_of - 1).is(Sense::determiner) ? size_of - 2 : size_of - 1;
    if (draft.at(grown).is(Sense::thing_within)) return std::nullopt;
    const At before = draft.at(size_of - 1).is(Sense::determiner) ? size_of - 2 : size_of - 1;
    if (draft.at(before).kind == Item::Kind::fraction)
      return Comparison{before, i, thing.low * draft.at(before).low};
    if (draft.at(before).any_of({"twice", "double"})) return Comparison{before, i, thing.low * 2};
    return Comparison{size_of, i, thing.low};
  }
  const bool own = thing.any_of({"fist", "two fists", "double fist", "two hands", "golf ball",
                                 "tennis ball", "football", "grapefruit", "walnut", "cricket ball",
                                 "baseball", "softball", "golfball", "thumbnail"});
  const bool described =
      draft.has_label(LabelSaid::Of::sample) ||
      draft.any(0, i, [](const Item& item) { return item.rock() || item.is("size"); });
  if (own && described) return Comparison{i, i, thing.low};
  // "sample two, hematite, egg, bag nine": of things that are no colour and no kind
  const Item& next = draft.at(i + 1);
  const bool listed = next.mark() || next.is(Sense::bag) || next.is(Sense::loose) ||
                      next.is(Sense::burial) || next.kind == Item::Kind::fraction;
  if (listed && draft.has_label(LabelSaid::Of::sample) &&
      (thing.any_of({"egg", "brick", "loaf", "pea"}) ||
       (draft.at(i - 1).mark() && !thing.any_of({"orange", "marble"}))))
    return Comparison{i, i, thing.low};
  // "no, more like a football"
  const At thing_at = draft.at(i - 1).is(Sense::determiner) ? i - 1 : i;
  if (draft.at(thing_at - 1).is("like") && draft.at(thing_at - 2).any_of({"more", "rather"}) &&
      (draft.has_label(LabelSaid::Of::sample) || draft.any(0, i - 1, [](const Item& item) {
        return item.is(Sense::compare) || item.is(Sense::size_of) || item.is(Sense::sized);
      })))
    return Comparison{thing_at - 2, i, thing.low};
  // "a tiny thing like a pea"
  const At like = draft.at(i - 1).is(Sense::determiner) ? i - 2 : i - 1;
  if (draft.at(like).is("like") && draft.any(like - 5, like - 1, [](const Item& item) {
        return item.any_of({"tiny", "small", "little", "big", "large", "huge", "great"});
      }))
    return Comparison{like, i, thing.low};
  if (bounded_back(Sense::sized) >= 0) return Comparison{i, i, thing.low};
  return std::nullopt;
}

/// "Size of a grapefruit, no, more like a football": the comparison that is put right.
bool taken_back(const Draft& draft, At last) {
  for (At i = last + 1; i <= last + 5 && i < draft.size(); ++i) {
    const bool cue = draft.at(i).is(Sense::correction) || draft.at(i).is(Sense::soft_correction) ||
                     draft.at(i).any_of({"no", "nope"});
    if (!cue) continue;
    for (At k = i + 1; k <= i + 9 && k < draft.size(); ++k) {
      if (draft.at(k).is(Sense::compare)) return comparison_at(draft, k).has_value();
    }
    return false;
  }
  return false;
}

/// "More than a metre, say one metre thirty", "two foot, well, nearer three": the second measure is
/// of the same side.
bool says_again(const Draft& draft, At last, At next) {
  if (next - last > 6) return false;
  bool again = false;
  for (At i = last + 1; i < next; ++i) {
    const Item& item = draft.at(i);
    if (item.stop() || item.rock() || item.is("and")) return false;
    again = again || item.any_of({"say", "i'd say", "nearer", "closer to", "close to", "more like",
                                  "call it", "like", "more"});
  }
  return again;
}

/// "One rock in six is bigger than a football", "most are fist sized": of no single rock.
bool of_many(const Draft& draft, At first) {
  const At begin = draft.clause_begin(first);
  for (At i = begin; i < first; ++i) {
    const bool one_in_so_many = draft.at(i).number() && draft.at(i + 1).is(Sense::piece) &&
                                draft.at(i + 2).any_of({"in", "out"});
    const bool most =
        draft.at(i).is(Sense::quantity) &&
        (draft.at(i + 1).is(Sense::is) || draft.at(i - 1).any_of({"they're", "they are", "are"}));
    if (one_in_so_many || most) return true;
  }
  return false;
}

}  // namespace

void read_sizes(Draft& draft) {
  bool measured = false;
  At measured_to = -1;
  for (At i = 0; i < draft.size(); ++i) {
    if (draft.at(i).mutes) continue;
    const auto measure = measure_at(draft, i);
    if (!measure) continue;
    // "a foot by eight inches by six": the longest was said first
    if (measured && by(draft, measure->first - 1)) {
      draft.use(measure->first, measure->last);
      i = measure->last;
      continue;
    }
    if (measures_rock(draft, *measure)) {
      if (measured_to >= 0 && says_again(draft, measured_to, measure->first))
        draft.withdraw<LongestSide>();
      draft.propose(LongestSide{std::round(measure->mm)}, measure->first, measure->last, 0.9);
      measured = true;
      measured_to = measure->last;
    }
    draft.use(measure->first, measure->last);
    i = measure->last;
  }
  for (At i = 0; i < draft.size(); ++i) {
    if (draft.at(i).mutes) continue;
    const auto comparison = comparison_at(draft, i);
    if (!comparison || taken_back(draft, comparison->last)) continue;
    if (of_many(draft, comparison->first)) {
      i = comparison->last;
      continue;
    }
    // "fist and a half, call it fifteen centimetres": the figure says it
    if (!measured)
      draft.propose(LongestSide{comparison->mm}, comparison->first, comparison->last, 0.8);
    draft.use(comparison->first, comparison->last);
    i = comparison->last;
  }
}

}  // namespace stonecall::reading
