#include <algorithm>
#include <cstdlib>
#include <optional>
#include <set>
#include <string>

#include "console/reading/recognisers.hpp"

namespace stonecall::reading {
namespace {

using At = Draft::At;
using Of = LabelSaid::Of;

/// Something that can be said wrong.
struct Value {
  enum class Type { none, bag, sample, rock, station, number };
  Type type = Type::none;
  At first = 0;
  At last = 0;
  std::size_t label = 0;  ///< of a bag or sample, its place in draft.labels
};

std::vector<Value> values_of(const Draft& draft) {
  std::vector<Value> values;
  for (At i = 0; i < draft.size(); ++i) {
    const auto label = std::find_if(draft.labels.begin(), draft.labels.end(),
                                    [&](const LabelSaid& said) { return said.first == i; });
    if (label != draft.labels.end()) {
      values.push_back({label->of == Of::bag ? Value::Type::bag : Value::Type::sample, label->first,
                        label->last, static_cast<std::size_t>(label - draft.labels.begin())});
      i = label->last;
      continue;
    }
    if (draft.at(i).rock()) values.push_back({Value::Type::rock, i, i, 0});
    if (draft.at(i).kind == Item::Kind::station) values.push_back({Value::Type::station, i, i, 0});
    if (draft.at(i).number() && !draft.at(i).used) {
      const Label number = read_label(draft, i);
      values.push_back({Value::Type::number, i, number.digits.empty() ? i : number.last, 0});
      i = values.back().last;
    }
  }
  return values;
}

bool strikes(const Item& item) {
  return item.any_of(
      {"strike", "scratch", "scratch that", "strike that", "cancel", "cancel that", "disregard"});
}

bool is_picture(const Item& item) {
  return item.is(Sense::stereo) || item.is(Sense::down_sun) || item.is(Sense::after) ||
         item.is(Sense::pair);
}

bool cue(const Item& item) {
  return item.is(Sense::correction) || item.is(Sense::soft_correction);
}

/// "no, thirty two", "no it's sandstone": a "no" that puts right instead of denying.
bool no_cue(const Draft& draft, At i) {
  if (!draft.at(i).is("no") && !draft.at(i).is("nope")) return false;
  const Item& next = draft.at(i + 1);
  // "sample nine pyroxenite no dunite"
  if (next.rock() && draft.at(i - 1).rock() && draft.has_label(Of::sample)) return true;
  return next.comma() || next.number() || cue(next) || next.is(Sense::restart) ||
         next.is(Sense::bag) || next.is(Sense::sample) ||
         next.any_of({"wait", "it", "that", "hang", "make", "i", "definitely"});
}

/// The bare number becomes a label of the same sort as the one it puts right.
void make_label(Draft& draft, Value& value, Of of) {
  const Label label = read_label(draft, value.first);
  if (label.digits.empty()) return;
  draft.labels.push_back(
      {of, label.digits, value.first, label.last, value.first, false, false, false});
  draft.use(value.first, label.last);
  value.type = of == Of::bag ? Value::Type::bag : Value::Type::sample;
  value.last = label.last;
  value.label = draft.labels.size() - 1;
}

Of label_sort(Value::Type type) {
  return type == Value::Type::bag ? Of::bag : Of::sample;
}
bool is_label(Value::Type type) {
  return type == Value::Type::bag || type == Value::Type::sample;
}

class Corrections {
 public:
  explicit Corrections(Draft& draft) : draft_(draft), values_(values_of(draft)) {}

  void run() {
    opens_ = opens_with_correction();
    name_struck();
    name_doubted();
    name_by_series();
    take_back();
    give_up_bag();
    deny();
    replace_inside();
    if (replace_amount()) return;
    if (bags_of_two()) return;
    if (const auto change = change_of_earlier()) {
      draft_.corrects = true;
      draft_.propose(*change, 0, draft_.size() - 1, 0.85);
    }
  }

 private:
  /// "Scratch that last bag, it's one one eight": the number is of the sort that is struck.
  void name_struck() {
    for (At i = 0; i < draft_.size(); ++i) {
      if (!strikes(draft_.at(i))) continue;
      At word = i + 1;
      while (word <= i + 4 && !draft_.at(word).mark() && !draft_.at(word).is(Sense::bag) &&
             !draft_.at(word).is(Sense::sample) &&
             !draft_.at(word).any_of({"that last sample", "the last sample", "that sample"}))
        ++word;
      const bool bag = draft_.at(word).is(Sense::bag);
      if (word > i + 4 || draft_.at(word).mark() || value_at(word, word)) continue;
      for (Value& value : values_) {
        if (value.first <= word || value.type != Value::Type::number) continue;
        if (draft_.at(value.last + 1).is(Sense::unit)) continue;
        make_label(draft_, value, bag ? Of::bag : Of::sample);
        struck_ = true;
      }
    }
  }

  /// "Thirteen was wrong", "I called fifteen a wacke": a bare number that a sample has.
  void name_doubted() {
    // "it's seventy two for ten": a bag, and whose it is
    const bool of_bags =
        draft_.any(0, draft_.size() - 1, [](const Item& item) { return item.is(Sense::bag); });
    for (std::size_t v = 0; v + 1 < values_.size(); ++v) {
      Value& bag = values_[v];
      Value& sample = values_[v + 1];
      if (bag.type != Value::Type::number || sample.type != Value::Type::number || !of_bags ||
          !draft_.at(bag.last + 1).is("for") || sample.first != bag.last + 2 ||
          !known_sample(read_label(draft_, sample.first).digits))
        continue;
      make_label(draft_, bag, Of::bag);
      make_label(draft_, sample, Of::sample);
    }
    for (Value& value : values_) {
      if (value.type != Value::Type::number) continue;
      const Item& before = draft_.at(value.first - 1);
      const bool wrong =
          before.mark() && draft_.at(value.last + 1).any_of({"was wrong", "is wrong"});
      const bool called =
          before.any_of({"i called", "we called"}) && draft_.at(kind_behind(value.last + 1)).rock();
      const bool recorded = recorded_as_another(value);
      // "I said thirty four was slate"
      const bool said = before.any_of({"i said", "we said", "thought"}) &&
                        draft_.at(value.last + 1).is(Sense::is) &&
                        draft_.at(kind_behind(value.last + 2)).rock() && kinds_named() > 1;
      if (!(wrong || called || recorded || said) ||
          !known_sample(read_label(draft_, value.first).digits))
        continue;
      make_label(draft_, value, Of::sample);
      struck_ = struck_ || recorded;
    }
    // "change five please", "komatiite for five, not dolerite"
    std::set<std::size_t> kinds;
    bool guessed = false;
    for (const Item& item : draft_.items) {
      if (!item.rock()) continue;
      kinds.insert(item.index);
      guessed = guessed || item.mutes;
    }
    const bool put_right = draft_.any(0, draft_.size() - 1, [&](const Item& item) {
      return (item.is(Sense::correction) && item.low > 0) ||
             (item.is(Sense::not_) && kinds.size() > 1);
    });
    const bool doubts = put_right && !kinds.empty() && !guessed && !draft_.has_label(Of::sample) &&
                        !draft_.has_label(Of::bag);
    if (!doubts) return;
    Value* only = nullptr;
    for (Value& value : values_) {
      if (value.type != Value::Type::number) continue;
      if (only) return;
      only = &value;
    }
    if (!only || !known_sample(read_label(draft_, only->first).digits)) return;
    const Item& next = draft_.at(only->last + 1);
    const Item& before = draft_.at(only->first - 1);
    if (next.mark() || next.is(Sense::is) || next.is("please") ||
        before.any_of({"for", "of", "in"}))
      make_label(draft_, *only, Of::sample);
  }

  std::size_t kinds_named() const {
    std::set<std::size_t> kinds;
    for (const Item& item : draft_.items)
      if (item.rock()) kinds.insert(item.index);
    return kinds.size();
  }

  /// "Make five granite", "log five as granite", "put five down as granite": a verb of recording,
  /// the number, and its kind.
  bool recorded_as_another(const Value& number) const {
    if (!draft_.at(number.first - 1)
             .any_of({"make", "call", "log", "put", "mark", "label", "record", "relabel", "enter",
                      "relog", "list", "note", "write"}))
      return false;
    At kind = number.last + 1;
    while (draft_.at(kind).any_of({"down", "as", "down as", "a", "an", "in", "the", "up", "under"}))
      ++kind;
    // "make four granite and six slate": a count
    return draft_.at(kind).rock() && !draft_.at(kind + 1).number() &&
           !draft_.at(kind + 1).is(Sense::conj);
  }

  At kind_behind(At i) const {
    return draft_.skip(i, {Sense::determiner, Sense::colour, Sense::texture, Sense::filler});
  }

  /// "Other way round", "I take that back": what stands before is void.
  void take_back() {
    for (At i = 0; i < draft_.size(); ++i) {
      if (draft_.at(i).is(Sense::retract)) draft_.mute(0, i, Item::replaced);
    }
  }

  /// "Bag ten has a hole, so it's bag eleven now": the one that cannot be used is void.
  void give_up_bag() {
    for (Value& value : values_) {
      const bool bag = value.type == Value::Type::bag && !draft_.labels[value.label].denied;
      // "twelve leaks": the number given last
      const bool last_bag = value.type == Value::Type::number && !draft_.context.last_bag.empty() &&
                            read_label(draft_, value.first).digits == draft_.context.last_bag;
      if (!bag && !last_bag) continue;
      // What is broken is the bag named last before it.
      At end = value.last + 4;
      for (const Value& later : values_) {
        if (later.first > value.last) end = std::min(end, later.first - 1);
      }
      const bool broken = draft_.any(value.last + 1, end, [](const Item& item) {
        return item.any_of({"hole",   "tear",       "torn",     "split",  "ripped", "rip",
                            "leak",   "leaks",      "leaking",  "leaked", "burst",  "broke",
                            "broken", "empty",      "used",     "tore",   "holed",  "ruined",
                            "soaked", "unreadable", "no label", "no tag", "label",  "tag"});
      });
      const bool another = std::ranges::any_of(values_, [&](const Value& later) {
        return later.type == Value::Type::bag && later.first != value.first;
      });
      if (!broken || !another) continue;
      if (last_bag) make_label(draft_, value, Of::bag);
      if (!is_label(value.type)) continue;
      draft_.labels[value.label].denied = true;
      draft_.mute(value.first, value.last, Item::denied);
      denied_ = true;
    }
  }

  /// "No, bag thirty one", "sorry that's four fifteen", "make it forty": the note begins with the
  /// putting right, so that it is of an earlier one.
  bool opens_with_correction() const {
    At i = 0;
    // "Mill, strike coal": who is spoken to
    if (draft_.at(0).kind == Item::Kind::word && draft_.at(1).comma() && !cue(draft_.at(0)) &&
        !no_cue(draft_, 0))
      i = 2;
    while (draft_.at(i).is(Sense::filler) || draft_.at(i).is(Sense::conj) ||
           draft_.at(i).is(Sense::now) || draft_.at(i).is(Sense::but) || draft_.at(i).comma() ||
           draft_.at(i).any_of({"base", "oh", "ah", "okay", "ok", "right", "so", "well", "just",
                                "hey", "yeah", "um", "uh", "er", "erm"}))
      ++i;
    const Item& item = draft_.at(i);
    return cue(item) || no_cue(draft_, i) || (item.is(Sense::not_) && item.text.ends_with("said"));
  }

  /// "It's forty two, not forty one": bare numbers that put a bag or a sample right are of the
  /// numbering that they are nearest to.
  void name_by_series() {
    const bool denies = draft_.any(0, draft_.size() - 1, [](const Item& item) {
      return item.is(Sense::not_) || item.is(Sense::correction);
    });
    if (!opens_ && !denies) return;
    if (draft_.has_label(Of::bag) || draft_.has_label(Of::sample)) return;
    if (counts_or_measures() && !number_for_kind()) return;
    const auto gap = [](const std::string& digits, const std::string& last) {
      return in_series(digits, last) ? std::abs(std::stoi(digits) - std::stoi(last)) : 1000;
    };
    int to_sample = 1000;
    int to_bag = 1000;
    std::set<std::string> bare;
    for (const Value& value : values_) {
      if (value.type != Value::Type::number) continue;
      const std::string digits = read_label(draft_, value.first).digits;
      if (digits.empty()) return;
      bare.insert(digits);
      to_sample = std::min(to_sample, gap(digits, draft_.context.last_sample));
      to_bag = std::min(to_bag, gap(digits, draft_.context.last_bag));
    }
    if (bare.empty() || bare.size() > 2 || to_sample == to_bag) return;
    for (Value& value : values_) {
      if (value.type == Value::Type::number)
        make_label(draft_, value, to_bag < to_sample ? Of::bag : Of::sample);
    }
  }

  /// "Correction, eighty seven for the slate": the one number, and whose it is.
  bool number_for_kind() const {
    if (!opens_ || values_.empty() || values_.front().type != Value::Type::number) return false;
    const Value& number = values_.front();
    const At kind = draft_.skip(number.last + 2, {Sense::determiner, Sense::colour});
    return cue(draft_.at(number.first - 1)) && draft_.at(number.last + 1).is("for") &&
           kind > number.last + 2 && draft_.at(kind).rock() && values_.size() == 2;
  }

  /// Numbers in the note are of rocks or of their size, not of their labels.
  bool counts_or_measures() const {
    return draft_.any(0, draft_.size() - 1, [](const Item& item) {
      return item.is(Sense::unit) || item.is(Sense::percent) || item.is(Sense::count) ||
             item.is(Sense::piece) || item.is(Sense::quantity) || item.rock() ||
             item.is(Sense::at_most) || item.is(Sense::at_least) ||
             item.kind == Item::Kind::fraction || item.kind == Item::Kind::station ||
             item.any_of({"minutes", "minute", "hours", "hour", "seconds", "o'clock", "past",
                          "degrees", "out", "time"});
    });
  }

  Value* value_at(At first, At last) {
    for (Value& value : values_) {
      if (value.first >= first && value.first <= last) return &value;
    }
    return nullptr;
  }
  Value* value_before(At i, Value::Type type) {
    Value* found = nullptr;
    for (Value& value : values_) {
      if (value.last < i && value.type == type) found = &value;
    }
    return found;
  }
  Value* label_before(At i) {
    Value* found = nullptr;
    for (Value& value : values_) {
      if (value.last < i && is_label(value.type)) found = &value;
    }
    return found;
  }

  /// "bag thirty two not thirty one", "not fourteen", "isn't granite".
  void deny() {
    for (At i = 0; i < draft_.size(); ++i) {
      // "mostly granite, I said, but …"
      if (draft_.at(i).any_of({"i said", "we said"}) && draft_.at(i + 1).comma() &&
          draft_.at(i + 2).is(Sense::but) && draft_.at(i - 1).comma()) {
        draft_.mute(draft_.sentence_begin(i), i, Item::replaced);
        continue;
      }
      // "strike coal, it is ironstone"
      const bool struck = strikes(draft_.at(i));
      // "what Birch called pelite is slate"
      const bool called = draft_.at(i).any_of({"called", "reported", "logged", "named"}) &&
                          draft_.any(i - 3, i - 1, [](const Item& item) {
                            return item.is("what") || item.is("what the");
                          });
      // "put five down as granite": so it is to be, not so it was
      if (draft_.at(i).is("down as") && draft_.at(0).is("put")) continue;
      const At thought = thought_to_be(i);
      deny_one_of_two(i);
      deny_taken(i);
      deny_before_but(i);
      if (struck) deny_what_was_said(i);
      if (!draft_.at(i).is(Sense::not_) && !struck && !called && thought < 0) continue;
      const At from = draft_.skip(i + 1, {Sense::determiner, Sense::colour, Sense::texture,
                                          Sense::soft_correction, Sense::at, Sense::filler});
      Value* value = thought >= 0 ? value_at(thought, thought) : value_at(from, from);
      if (!value) continue;
      // "I called sample six a wacke, it's a phyllite": the kind is doubted, not the number
      if (value->type == Value::Type::sample &&
          draft_.at(i).any_of({"i called", "we called", "i said", "we said"})) {
        const At verb = value->last + 1;
        const At kind = kind_behind(draft_.at(verb).is(Sense::is) ? verb + 1 : verb);
        if (Value* rock = value_at(kind, kind); rock && rock->type == Value::Type::rock) {
          draft_.labels[value->label].reference = true;
          value = rock;
        }
      }
      if (value->type == Value::Type::number) {
        Value* other = label_before(i);
        if (!other) {
          for (Value& later : values_) {
            if (later.first > value->last && is_label(later.type)) {
              other = &later;
              break;
            }
          }
        }
        if (!other) continue;
        make_label(draft_, *value, label_sort(other->type));
      }
      if (is_label(value->type)) draft_.labels[value->label].denied = true;
      // "disregard bag twenty two. Twenty three."
      if (struck && is_label(value->type) && draft_.at(value->last + 1).mark()) {
        Value* instead = value_at(value->last + 2, value->last + 2);
        if (instead && instead->type == Value::Type::number && draft_.at(instead->last + 1).mark())
          make_label(draft_, *instead, label_sort(value->type));
      }
      draft_.mute(value->first, value->last, Item::denied);
      denied_ = true;
      // "the basalt in the picture isn't basalt"
      if (value->type != Value::Type::rock) continue;
      for (const Value& same : values_) {
        if (same.type == Value::Type::rock && same.first < i &&
            same.first >= draft_.sentence_begin(i) &&
            draft_.at(same.first).index == draft_.at(value->first).index)
          draft_.mute(same.first, same.last, Item::denied);
      }
    }
  }

  /// "I gave three oh three as bag fifty three but it went into fifty seven": what was said before.
  void deny_before_but(At i) {
    if (!draft_.at(i).is(Sense::but)) return;
    const bool told = draft_.any(draft_.sentence_begin(i), i - 1, [](const Item& item) {
      return item.any_of({"gave", "i gave", "we gave", "told", "wrote", "i wrote", "reported",
                          "i reported", "logged", "i logged", "said", "i said", "we said"});
    });
    if (!told) return;
    for (Value& before : values_) {
      if (before.last > i || before.first < draft_.sentence_begin(i)) continue;
      const bool kind = before.type == Value::Type::rock && draft_.has_label(Of::sample);
      if (before.type != Value::Type::bag && !kind) continue;
      const bool another = std::ranges::any_of(values_, [&](const Value& after) {
        return after.first > i && after.type == before.type;
      });
      if (!another) continue;
      if (is_label(before.type)) draft_.labels[before.label].denied = true;
      draft_.mute(before.first, before.last, Item::denied);
      denied_ = true;
    }
  }

  /// "That's sixty eight, we have a sixty seven already": a field number that is taken.
  void deny_taken(At i) {
    if (!draft_.at(i).is("already")) return;
    Value* taken = nullptr;
    Value* instead = nullptr;
    for (Value& value : values_) {
      const bool number = value.type == Value::Type::number || value.type == Value::Type::sample;
      if (!number) continue;
      const bool near = value.last < i ? i - value.last <= 1 : value.first - i <= 4;
      if (near && !taken)
        taken = &value;
      else
        instead = instead ? instead : &value;
    }
    // "scratch that, I already have a thirty": which instead is not said
    if (!taken || draft_.has_label(Of::bag)) return;
    if (!instead && taken->first > i) {
      if (taken->type == Value::Type::number && opens_) make_label(draft_, *taken, Of::sample);
      if (taken->type == Value::Type::sample && known_sample(draft_.labels[taken->label].digits))
        draft_.labels[taken->label].denied = true;
      return;
    }
    if (!instead) return;
    const auto digits = [&](const Value& value) {
      return value.type == Value::Type::sample ? draft_.labels[value.label].digits
                                               : read_label(draft_, value.first).digits;
    };
    const std::string other = digits(*instead);
    if (other == digits(*taken) || known_sample(other) || !known_sample(digits(*taken))) return;
    for (Value* value : {taken, instead})
      if (value->type == Value::Type::number) make_label(draft_, *value, Of::sample);
    if (!is_label(taken->type) || !is_label(instead->type)) return;
    draft_.labels[taken->label].denied = true;
    draft_.mute(taken->first, taken->last, Item::denied);
    denied_ = true;
  }

  /// "Sample fifteen, basalt to granite": the first of the two kinds.
  void deny_one_of_two(At i) {
    if (!draft_.at(i).rock() || !draft_.at(i + 1).is("to") || !draft_.at(i + 2).rock()) return;
    const auto sample = first_sample();
    if (!sample || !known_sample(sample->digits)) return;
    draft_.mute(i, i, Item::denied);
    denied_ = true;
  }

  /// "Disregard what I said about granite": nothing is said instead.
  void deny_what_was_said(At i) {
    for (At k = i + 1; k <= i + 6 && !draft_.at(k).mark(); ++k) {
      const At kind = kind_behind(k + 1);
      if (draft_.at(k).is("about") && draft_.at(kind).rock())
        draft_.mute(kind, kind, Item::replaced);
    }
  }

  /// "I thought eighteen was slate": the kind, where a sample is named between; −1: none.
  At thought_to_be(At i) const {
    if (!draft_.at(i).is("thought")) return -1;
    for (At k = i + 1; k <= i + 5 && !draft_.at(k).mark(); ++k) {
      if (!draft_.at(k).is(Sense::is)) continue;
      const bool sample = std::ranges::any_of(draft_.labels, [&](const LabelSaid& said) {
        return said.of == Of::sample && said.first > i && said.last < k;
      });
      const At kind = kind_behind(k + 1);
      return sample && draft_.at(kind).rock() ? kind : -1;
    }
    return -1;
  }

  void replace_inside() {
    for (At i = 0; i < draft_.size(); ++i) {
      const bool no = no_cue(draft_, i);
      if (!cue(draft_.at(i)) && !no) continue;
      if (draft_.at(i).low > 0) continue;  // "should be" speaks of an earlier note
      At last = i;
      while (cue(draft_.at(last + 1)) || draft_.at(last + 1).comma() ||
             draft_.at(last + 1).is("no") || draft_.at(last + 1).is(Sense::restart) ||
             draft_.at(last + 1).is(Sense::one) || draft_.at(last + 1).is(Sense::determiner) ||
             draft_.at(last + 1).is(Sense::colour) || draft_.at(last + 1).is(Sense::shape) ||
             draft_.at(last + 1).is(Sense::texture) || draft_.at(last + 1).is(Sense::is) ||
             draft_.at(last + 1).is("at") || draft_.at(last + 1).any_of({"definitely", "."})) {
        ++last;
      }
      Value* after = value_at(last + 1, last + 2);
      if (no) draft_.mute(i, i, Item::replaced);  // it denies nothing
      if (!after || (after->type != Value::Type::number && after->first > last + 1)) {
        i = last;
        continue;
      }
      // "that's sixty eight, sorry, we have a sixty seven already"
      // "then it's slate, scratch the granite"
      if ((is_label(after->type) && draft_.labels[after->label].denied) ||
          (after->type == Value::Type::rock && (draft_.at(after->first).mutes & Item::denied))) {
        i = last;
        continue;
      }
      if (after->type == Value::Type::number)
        replace_number(*after, i);
      else if (Value* before = value_before(i, after->type))
        replace(*before, i);
      i = last;
    }
  }

  /// "I said it was three quarters under, it was more like half": how much was said, and how much
  /// it is.
  bool replace_amount() {
    const auto amount = [&](At i) {
      const Item& item = draft_.at(i);
      return item.kind == Item::Kind::fraction || item.is(Sense::quantity) ||
             item.is(Sense::burial) || item.is(Sense::compare) ||
             (item.number() && !item.used &&
              (draft_.at(i + 1).is(Sense::percent) || draft_.at(i + 1).is(Sense::unit)));
    };
    for (At said = 0; said < draft_.size(); ++said) {
      const bool told = draft_.at(said).any_of(
          {"i said", "we said", "i'd said", "i had said", "did i say", "i called"});
      const bool put = draft_.at(said).any_of({"i", "we"}) &&
                       draft_.at(said + 1).any_of({"put", "gave", "thought", "guessed", "had"});
      if (!told && !put) continue;
      At old = said + 1;
      while (old <= said + 9 && !amount(old)) ++old;
      if (old > said + 9) continue;
      for (At cue_at = old + 1; cue_at <= old + 9 && !draft_.at(cue_at).stop(); ++cue_at) {
        const bool instead =
            draft_.at(cue_at).any_of({"nearer", "closer to", "make it", "make that", "call it",
                                      "close to", "should be"}) ||
            (draft_.at(cue_at).is("like") && draft_.at(cue_at - 1).is("more")) ||
            (draft_.at(cue_at).is("it") && draft_.at(cue_at - 1).any_of({"call", "make"}));
        if (!instead || !(amount(cue_at + 1) || amount(cue_at + 2))) continue;
        const bool figure = draft_.at(old).number();
        draft_.mute(old, figure ? old + 1 : old, Item::replaced);
        return true;
      }
    }
    return false;
  }

  void replace(Value& before, At cue_at) {
    if (cue_at - before.last > 6) return;
    if (is_label(before.type)) {
      const LabelSaid& label = draft_.labels[before.label];
      // "stereo of twenty four taken, no wait, that was twenty five"
      const bool of_picture = label.of == Of::sample && draft_.at(label.first - 1).is("of") &&
                              (draft_.at(label.first - 2).is(Sense::stereo) ||
                               draft_.at(label.first - 2).is(Sense::down_sun) ||
                               draft_.at(label.first - 2).is(Sense::after) ||
                               draft_.at(label.first - 2).is(Sense::after_weak));
      if (label.reference && !of_picture) return;
    }
    draft_.mute(before.first, before.last, Item::replaced);
    replaced_ = true;
  }

  void replace_number(Value& after, At cue_at) {
    const Item& next = draft_.at(after.last + 1);
    if (next.is(Sense::unit) || next.is(Sense::percent)) {
      Value* before = value_before(cue_at, Value::Type::number);
      if (before && cue_at - before->last <= 3) {
        draft_.mute(before->first, cue_at - 1, Item::replaced);
        replaced_ = true;
      }
      return;
    }
    if (Value* before = value_before(cue_at, Value::Type::number)) {
      const At behind = before->last + 1;
      // "twelve granite, no, eleven granite"
      const bool count = next.rock() && draft_.at(behind).rock() &&
                         draft_.at(behind).index == next.index && cue_at - behind <= 2;
      // "around sixty percent granite, sorry, I mean forty"
      const bool percent = draft_.at(behind).is(Sense::percent) && next.mark() &&
                           cue_at - behind <= 5 && draft_.at(after.first).low <= 100;
      if (count) draft_.mute(before->first, behind, Item::replaced);
      if (percent) draft_.mute(before->first, behind, Item::replaced);
      if (count || percent) {
        replaced_ = true;
        return;
      }
    }
    Value* before = label_before(cue_at);
    if (!before || cue_at - before->last > 4) return;
    const auto type = before->type;
    replace(*before, cue_at);
    if (replaced_) make_label(draft_, after, label_sort(type));
  }

  bool known_sample(const std::string& digits) const {
    return draft_.context.samples.contains(digits);
  }

  /// "I mixed them up, two oh three has the quartz and two oh two the jasper": two bags, and whose
  /// each is.
  bool bags_of_two() {
    const bool puts_right = draft_.any(0, draft_.size() - 1, [](const Item& item) {
      return item.is(Sense::correction) || item.is(Sense::retract) ||
             item.any_of({"swapped", "switched", "swap", "mistake", "crossed", "mixed", "confused",
                          "mixed up", "muddled", "mixed them up", "mislabelled", "mislabeled"});
    });
    if (!puts_right || denied_) return false;
    // Bare numbers: a field number that is known, or what goes on with the bags.
    const auto sort_of = [&](const Value& value) {
      if (value.type != Value::Type::number) return value.type;
      const std::string digits = read_label(draft_, value.first).digits;
      if (known_sample(digits)) return Value::Type::sample;
      return in_series(digits, draft_.context.last_bag) ? Value::Type::bag : value.type;
    };
    const auto bags = std::ranges::count(values_, Value::Type::bag, sort_of);
    // "I mixed those up, twelve is the granite and thirteen the slate": which kind each was said to
    // be before is not known here.
    const auto kinds = std::ranges::count(values_, Value::Type::rock, sort_of);
    const auto samples = std::ranges::count(values_, Value::Type::sample, sort_of);
    if (bags == 0 && kinds == 2 && samples == 2 && values_.size() == 4) {
      draft_.corrects = true;
      return true;
    }
    if (bags != 2 || values_.size() != 4) return false;
    for (Value& value : values_)
      if (const auto sort = sort_of(value); value.type == Value::Type::number && is_label(sort))
        make_label(draft_, value, sort == Value::Type::bag ? Of::bag : Of::sample);
    std::vector<PutRight> changes;
    std::string bag;
    std::optional<std::string> whose;
    bool owned = false;
    for (const Value& value : values_) {
      if (value.type == Value::Type::bag && !draft_.labels[value.label].denied) {
        if (!bag.empty()) return false;
        bag = draft_.labels[value.label].digits;
      } else if (value.type == Value::Type::sample || value.type == Value::Type::rock) {
        if (owned) return false;
        owned = true;
        if (value.type == Value::Type::sample) whose = draft_.labels[value.label].digits;
      } else {
        return false;
      }
      if (bag.empty() || !owned) continue;
      if (whose && !known_sample(*whose)) return false;
      changes.push_back({Changed::bag, bag, whose});
      bag.clear();
      whose.reset();
      owned = false;
    }
    if (changes.size() != 2 || !bag.empty() || owned || changes[0].to == changes[1].to)
      return false;
    draft_.corrects = true;
    for (const PutRight& change : changes) draft_.propose(change, 0, draft_.size() - 1, 0.8);
    return true;
  }

  /// The change of an earlier note that this one is about, if it is about one.
  std::optional<PutRight> change_of_earlier() {
    if (auto number = number_of_last()) return number;
    if (auto number = number_of_somebody()) return number;
    bool strong = false;
    bool weak = false;
    At cue_at = -1;
    for (At i = 0; i < draft_.size(); ++i) {
      const Item& item = draft_.at(i);
      if (item.mutes & (Item::asked | Item::wished | Item::guessed)) continue;
      if (i > 0 && is_picture(draft_.at(i - 1))) continue;  // "pears, I mean stereo"
      if (item.is(Sense::correction) && (item.low > 0 || !replaced_)) {
        strong = true;
        if (cue_at < 0) cue_at = i;
      }
      if (item.is(Sense::soft_correction) || no_cue(draft_, i) ||
          item.any_of({"turns out", "turned out"}))
        weak = true;
    }
    // "that basalt I called earlier, scratch that, it's scoria"
    earlier_ = draft_.any(0, draft_.size() - 1, [](const Item& item) {
      return item.any_of({"earlier", "previously", "what i called", "what we called",
                          "what i took for", "what we took for", "i called", "i said", "i reported",
                          "i logged"});
    });
    strong =
        strong || (earlier_ && cue_at < 0 && draft_.any(0, draft_.size() - 1, [](const Item& i) {
          return i.is(Sense::correction);
        }));
    // A copy: naming the new number below adds a label.
    const std::optional<LabelSaid> sample = first_sample();
    const bool has_sample = sample && !(draft_.at(sample->number).mutes & Item::replaced);
    const bool known = has_sample && (known_sample(sample->digits) ||
                                      sample->digits == draft_.context.last_sample);
    const std::optional<std::string> about =
        has_sample ? std::optional(sample->digits) : std::nullopt;
    const At verb = draft_.skip(0, {Sense::filler, Sense::conj, Sense::now});
    // "make eight's bag twenty"
    if (draft_.at(verb).is("make") && known && draft_.has_label(Of::bag)) strong = true;
    // "make the slate bag one oh three"
    const At kind_made = kind_behind(verb + 1);
    const bool bag_of_kind =
        draft_.at(verb).is("make") && draft_.at(kind_made).rock() &&
        (draft_.at(kind_made + 1).is(Sense::bag) || draft_.at(kind_made + 2).is(Sense::bag));
    if (bag_of_kind) strong = true;
    strong = strong || struck_;
    if (!strong && !denied_ && !opens_ && !(weak && known)) return std::nullopt;

    const bool describes = draft_.any(0, draft_.size() - 1, [](const Item& item) {
      return item.stated_rock() || item.is(Sense::pick);
    });
    if (opens_ && !describes) strong = true;
    name_new_number(cue_at);
    if (auto change = new_bag(strong, weak && known, about)) return change;
    if (auto change = new_station(about)) return change;
    // "make that sample thirteen, the dolerite": the number is what is put right, the kind says
    // whose
    const bool numbers =
        strong && has_sample && !known && !sample->reference && cue_at >= 0 &&
        draft_.skip(cue_at + 1, {Sense::filler, Sense::determiner}) == sample->first;
    if (numbers) return new_number(strong);
    if (auto change = new_rock(strong || (weak && known), has_sample, about)) return change;
    // "sample sixteen not seventeen, bag one four oh, granite": put right at once
    const bool fresh =
        !strong && !opens_ && has_sample && !known && draft_.has_label(Of::bag) &&
        draft_.any(0, draft_.size() - 1, [](const Item& item) { return item.stated_rock(); });
    if (fresh) return std::nullopt;
    return new_number(strong);
  }

  std::optional<LabelSaid> first_sample() const {
    for (const LabelSaid& said : draft_.labels) {
      if (said.of == Of::sample && !said.denied) return said;
    }
    return std::nullopt;
  }

  /// "The number of that last sample is seven"
  std::optional<PutRight> number_of_last() const {
    if (draft_.context.last_sample.empty()) return std::nullopt;
    for (const Value& value : values_) {
      const At is = value.first - 1;
      const bool number_said =
          value.type == Value::Type::number || value.type == Value::Type::sample;
      if (!number_said || !draft_.at(is).is(Sense::is)) continue;
      const bool last = draft_.any(is - 3, is - 1, [](const Item& item) {
        return item.any_of({"that last sample", "the last sample", "last sample", "that last one",
                            "the last one", "last one", "that sample"});
      });
      const bool number =
          draft_.any(is - 6, is - 2, [](const Item& item) { return item.is(Sense::number); });
      const std::string digits = value.type == Value::Type::sample
                                     ? draft_.labels[value.label].digits
                                     : read_label(draft_, value.first).digits;
      if (last && number && !digits.empty())
        return PutRight{Changed::sample_number, digits, std::nullopt};
    }
    return std::nullopt;
  }

  /// "I have a twenty four already, so yours is twenty five"
  std::optional<PutRight> number_of_somebody() const {
    if (draft_.has_label(Of::bag) || draft_.any(0, draft_.size() - 1, [](const Item& item) {
          return item.rock() || item.is(Sense::unit) || item.is(Sense::percent);
        }))
      return std::nullopt;
    for (const Value& value : values_) {
      const At is = value.first - 1;
      if (value.type != Value::Type::number && value.type != Value::Type::sample) continue;
      if (!draft_.at(is).is(Sense::is) ||
          !draft_.at(is - 1).any_of({"mine", "yours", "his", "hers", "theirs"}))
        continue;
      const std::string digits = value.type == Value::Type::sample
                                     ? draft_.labels[value.label].digits
                                     : read_label(draft_, value.first).digits;
      if (digits.size() >= 2 && in_series(digits, draft_.context.last_sample) &&
          !in_series(digits, draft_.context.last_bag) && !known_sample(digits))
        return PutRight{Changed::sample_number, digits, std::nullopt};
    }
    return std::nullopt;
  }

  /// After "should be", "to", "is": a number of the same sort as the label before.
  void name_new_number(At cue_at) {
    for (Value& value : values_) {
      if (value.type != Value::Type::number || value.first < cue_at) continue;
      const Item& next = draft_.at(value.last + 1);
      if (next.is(Sense::unit) || next.is(Sense::percent) || next.is(Sense::piece) || next.rock())
        continue;
      const Item& before = draft_.at(value.first - 1);
      const bool object = before.is(Sense::correction) || before.is(Sense::toward) ||
                          before.is(Sense::is) || before.is(Sense::restart) || before.is("but");
      if (!object) continue;
      // "it's bag fourteen now for forty four": whose it is
      if (before.is("for") && draft_.has_label(Of::bag) &&
          known_sample(read_label(draft_, value.first).digits)) {
        make_label(draft_, value, Of::sample);
        draft_.labels.back().reference = true;
        continue;
      }
      if (const Value* label = label_before(value.first)) {
        const Of of = label_sort(label->type);
        if (of == Of::bag) draft_.labels[label->label].denied = true;
        make_label(draft_, value, of);
      }
    }
  }

  std::optional<PutRight> new_bag(bool strong, bool known,
                                  const std::optional<std::string>& about) {
    const LabelSaid* to = nullptr;
    bool denied = false;
    for (const LabelSaid& label : draft_.labels) {
      if (label.of != Of::bag) continue;
      denied = denied || label.denied;
      if (label.denied || (draft_.at(label.number).mutes & (Item::replaced | Item::denied)))
        continue;
      // "eight's bag should be nine twelve, the nine ten tag fell off"
      const Item& before = draft_.at(label.first - 1);
      if (before.is(Sense::correction) && before.low > 0) {
        to = &label;
        break;
      }
      // "went in six ten, six oh nine had a hole": the one that was given before is not the new one
      if (!to || label.digits != draft_.context.last_bag) to = &label;
    }
    if (!to) return std::nullopt;
    // A new sample with "not": "sample nine, bag forty one, not the big one" is no change of the
    // bag.
    if (!strong && !denied && !known) return std::nullopt;
    if (!strong && !denied &&
        draft_.any(0, draft_.size() - 1, [](const Item& item) { return item.rock(); }))
      return std::nullopt;
    return PutRight{Changed::bag, to->digits, about};
  }

  std::optional<PutRight> new_station(const std::optional<std::string>& about) {
    const bool named = draft_.any(0, draft_.size() - 1, [](const Item& item) {
      return item.any_of({"station", "stop", "site"});
    });
    const bool leaves =
        draft_.any(0, draft_.size() - 1, [](const Item& item) { return item.is(Sense::leave); });
    bool denied = false;
    const Item* to = nullptr;
    for (const Value& value : values_) {
      if (value.type != Value::Type::station) continue;
      const Item& item = draft_.at(value.first);
      // "scratch that about the weir, the map says we're at the fold"
      const bool believed = opens_ && !leaves && !to && name_of(item) == draft_.context.station;
      if ((item.mutes & Item::denied) || believed)
        denied = true;
      else
        to = &item;
    }
    if (const Item* place = place_put_right()) {
      return PutRight{Changed::station, name_of(*place), about};
    }
    if (!to || !(denied || named || about)) return std::nullopt;
    if (!denied && draft_.any(0, draft_.size() - 1, [](const Item& item) {
          return item.is(Sense::arrive) || item.is(Sense::leave) || item.rock();
        }))
      return std::nullopt;
    return PutRight{Changed::station, name_of(*to), about};
  }

  const std::string& name_of(const Item& station) const {
    return draft_.matcher.stations()[station.index];
  }

  /// "Correction, we are at the ford still": nothing else is put right.
  const Item* place_put_right() const {
    At i = draft_.skip(0, {Sense::filler, Sense::conj, Sense::soft_correction});
    if (!draft_.at(i).is(Sense::correction)) return nullptr;
    for (++i; i < draft_.size(); ++i) {
      const Item& item = draft_.at(i);
      if (item.kind == Item::Kind::station) return &item;
      if (!item.comma() && !item.is(Sense::arrive) && !item.is(Sense::at) &&
          !item.is(Sense::determiner) && !item.is(Sense::now) && !item.is("still"))
        return nullptr;
    }
    return nullptr;
  }

  std::optional<PutRight> new_rock(bool corrects, bool has_sample,
                                   const std::optional<std::string>& about) {
    bool denied = false;
    const Item* to = nullptr;
    for (const Value& value : values_) {
      if (value.type != Value::Type::rock) continue;
      const Item& item = draft_.at(value.first);
      if (item.mutes & (Item::denied | Item::replaced))
        denied = true;
      else if (!item.mutes)
        to = &item;
    }
    const bool last_one = draft_.any(0, draft_.size() - 1, [](const Item& item) {
      return item.any_of({"last one", "the last one", "that last one", "that sample",
                          "the last sample", "that last sample", "the one before",
                          "the previous one", "this last one", "leave it as", "keep it as",
                          "put it back to"});
    });
    // "change it to slate", "yeah, make it slate"
    for (At i = 0; i < draft_.size() && !denied; ++i) {
      const At object = draft_.at(i + 1).any_of({"it", "that", "that one", "this one"}) ? i + 2 : i;
      if (draft_.at(i).is("change") && object > i && draft_.at(object).any_of({"to", "for"}) &&
          to && draft_.at(kind_behind(object + 1)).rock())
        return PutRight{Changed::rock, draft_.rock(*to).name, about};
    }
    // "scratch the last, it's not phonolite, it's hornfels"
    const bool of_last = opens_ && denied && corrects;
    if (!to || (!has_sample && !last_one && !earlier_ && !of_last) || (!denied && !corrects))
      return std::nullopt;
    // A sample named for the first time is described, not put right.
    const bool fresh = about && !known_sample(*about) && draft_.has_label(Of::bag);
    if (fresh) return std::nullopt;
    if (draft_.any(0, draft_.size() - 1,
                   [](const Item& item) { return item.is("there is") || item.is("there's"); }) &&
        !denied)
      return std::nullopt;
    return PutRight{Changed::rock, draft_.rock(*to).name, about};
  }

  std::optional<PutRight> new_number(bool strong) {
    const LabelSaid* to = nullptr;
    bool denied = false;
    for (const LabelSaid& label : draft_.labels) {
      if (label.of != Of::sample) continue;
      if (label.denied || (draft_.at(label.number).mutes & Item::replaced))
        denied = true;
      else if ((!label.reference && (!to || label.digits != draft_.context.last_sample)) || !to)
        to = &label;
    }
    if (!to || (!denied && !strong)) return std::nullopt;
    // "scratch that, I already have a thirty": which instead is not said
    if (!denied && draft_.labels.size() == 1 &&
        draft_.any(0, draft_.size() - 1, [](const Item& item) {
          return item.any_of({"already", "taken"});
        }))
      return std::nullopt;
    // "correction, seven is five centimetres": what is put right is its size
    const bool measured = !denied && known_sample(to->digits) &&
                          draft_.any(0, draft_.size() - 1, [](const Item& item) {
                            return item.is(Sense::unit) || item.is(Sense::compare) ||
                                   item.is(Sense::buried) || item.is(Sense::burial);
                          });
    if (measured) return std::nullopt;
    // "that's not seven, I've got seven": whose number it is, not which
    for (const LabelSaid& label : draft_.labels) {
      if (label.of == Of::sample && label.denied && label.digits == to->digits) return std::nullopt;
    }
    if (to->reference && !denied) return std::nullopt;
    return PutRight{Changed::sample_number, to->digits, std::nullopt};
  }

  Draft& draft_;
  std::vector<Value> values_;
  bool denied_ = false;
  bool replaced_ = false;
  bool struck_ = false;   ///< "scratch that bag"
  bool opens_ = false;    ///< it begins with the putting right
  bool earlier_ = false;  ///< it speaks of what was said before
};

}  // namespace

void read_corrections(Draft& draft) {
  Corrections(draft).run();
}

}  // namespace stonecall::reading
