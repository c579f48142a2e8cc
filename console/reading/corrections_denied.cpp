#include <algorithm>

#include "console/reading/corrections.hpp"

namespace stonecall::reading::corrections {

const Value* Corrections::said_as_bag(const Value& number) const {
  if (number.type != Value::Type::number) return nullptr;
  const std::string digits = read_label(draft_, number.first).digits;
  for (const Value& value : values_)
    if (value.type == Value::Type::bag && value.last < number.first &&
        draft_.labels[value.label].digits == digits)
      return &value;
  return nullptr;
}

void Corrections::give_up_bag() {
  for (Value& value : values_) {
    const bool bag = value.type == Value::Type::bag && !draft_.labels[value.label].denied;
    // "twelve leaks": the number given last
    const Value* given = said_as_bag(value);
    const bool last_bag = value.type == Value::Type::number && !draft_.context.last_bag.empty() &&
                          read_label(draft_, value.first).digits == draft_.context.last_bag;
    if (!bag && !last_bag && !given) continue;
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
    // "bag nineteen, oh wait, nineteen's got a hole, bag twenty": given in the same breath
    if (given) {
      draft_.mute(given->first, value.last, Item::replaced);
      replaced_ = true;
      continue;
    }
    if (last_bag) make_label(draft_, value, Of::bag);
    if (!is_label(value.type)) continue;
    draft_.labels[value.label].denied = true;
    draft_.mute(value.first, value.last, Item::denied);
    denied_ = true;
  }
}

void Corrections::deny() {
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

void Corrections::deny_before_but(At i) {
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
    const bool another = std::ranges::any_of(
        values_, [&](const Value& after) { return after.first > i && after.type == before.type; });
    if (!another) continue;
    if (is_label(before.type)) draft_.labels[before.label].denied = true;
    draft_.mute(before.first, before.last, Item::denied);
    denied_ = true;
  }
}

void Corrections::deny_taken(At i) {
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

void Corrections::deny_one_of_two(At i) {
  if (!draft_.at(i).rock() || !draft_.at(i + 1).is("to") || !draft_.at(i + 2).rock()) return;
  const auto sample = first_sample();
  if (!sample || !known_sample(sample->digits)) return;
  draft_.mute(i, i, Item::denied);
  denied_ = true;
}

void Corrections::deny_what_was_said(At i) {
  for (At k = i + 1; k <= i + 6 && !draft_.at(k).mark(); ++k) {
    const At kind = kind_behind(k + 1);
    if (draft_.at(k).is("about") && draft_.at(kind).rock()) draft_.mute(kind, kind, Item::replaced);
  }
}

At Corrections::thought_to_be(At i) const {
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

}  // namespace stonecall::reading::corrections
