#include <algorithm>

#include "console/reading/corrections.hpp"

namespace stonecall::reading::corrections {
namespace {

bool is_picture(const Item& item) {
  return item.is(Sense::stereo) || item.is(Sense::down_sun) || item.is(Sense::after) ||
         item.is(Sense::pair);
}

}  // namespace

bool Corrections::bags_of_two() {
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
  if (changes.size() != 2 || !bag.empty() || owned || changes[0].to == changes[1].to) return false;
  draft_.corrects = true;
  for (const PutRight& change : changes) draft_.propose(change, 0, draft_.size() - 1, 0.8);
  return true;
}

std::optional<PutRight> Corrections::change_of_earlier() {
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
  strong = strong || (earlier_ && cue_at < 0 && draft_.any(0, draft_.size() - 1, [](const Item& i) {
             return i.is(Sense::correction);
           }));
  // A copy: naming the new number below adds a label.
  const std::optional<LabelSaid> sample = first_sample();
  const bool has_sample = sample && !(draft_.at(sample->number).mutes & Item::replaced);
  const bool known =
      has_sample && (known_sample(sample->digits) || sample->digits == draft_.context.last_sample);
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
  // "make that sample thirteen, the dolerite": the number is what is put right, the kind says
  // whose
  const bool numbers = strong && has_sample && !known && !sample->reference && cue_at >= 0 &&
                       draft_.skip(cue_at + 1, {Sense::filler, Sense::determiner}) == sample->first;
  if (numbers) return new_number(strong);
  if (auto change = new_station(about)) return change;
  if (auto change = new_rock(strong || (weak && known), has_sample, about)) return change;
  // "sample sixteen not seventeen, bag one four oh, granite": put right at once
  const bool fresh =
      !strong && !opens_ && has_sample && !known && draft_.has_label(Of::bag) &&
      draft_.any(0, draft_.size() - 1, [](const Item& item) { return item.stated_rock(); });
  if (fresh) return std::nullopt;
  return new_number(strong);
}

std::optional<PutRight> Corrections::number_of_last() const {
  if (draft_.context.last_sample.empty()) return std::nullopt;
  for (const Value& value : values_) {
    const At is = value.first - 1;
    const bool number_said = value.type == Value::Type::number || value.type == Value::Type::sample;
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

std::optional<PutRight> Corrections::number_of_somebody() const {
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

std::optional<PutRight> Corrections::new_bag(bool strong, bool known,
                                             const std::optional<std::string>& about) {
  const LabelSaid* to = nullptr;
  bool denied = false;
  for (const LabelSaid& label : draft_.labels) {
    if (label.of != Of::bag) continue;
    denied = denied || label.denied;
    if (label.denied || (draft_.at(label.number).mutes & (Item::replaced | Item::denied))) continue;
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

std::optional<PutRight> Corrections::new_station(const std::optional<std::string>& about) {
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

const std::string& Corrections::name_of(const Item& station) const {
  return draft_.matcher.stations()[station.index];
}

const Item* Corrections::place_put_right() const {
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

std::optional<PutRight> Corrections::new_rock(bool corrects, bool has_sample,
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
                        "the last sample", "that last sample", "the one before", "the previous one",
                        "this last one", "leave it as", "keep it as", "put it back to"});
  });
  // "change it to slate", "yeah, make it slate"
  for (At i = 0; i < draft_.size() && !denied; ++i) {
    const At object = draft_.at(i + 1).any_of({"it", "that", "that one", "this one"}) ? i + 2 : i;
    if (draft_.at(i).is("change") && object > i && draft_.at(object).any_of({"to", "for"}) && to &&
        draft_.at(kind_behind(object + 1)).rock())
      return PutRight{Changed::rock, draft_.rock(*to).name, about};
  }
  // "scratch the last, it's not phonolite, it's hornfels"
  const bool of_last = opens_ && denied && corrects;
  if (!to || (!has_sample && !last_one && !earlier_ && !of_last) || (!denied && !corrects))
    return std::nullopt;
  // A sample named for the first time is described, not put right.
  const bool fresh = about && !known_sample(*about) && draft_.has_label(Of::bag);
  if (fresh || (about && announced(*about))) return std::nullopt;
  if (draft_.any(0, draft_.size() - 1,
                 [](const Item& item) { return item.is("there is") || item.is("there's"); }) &&
      !denied)
    return std::nullopt;
  return PutRight{Changed::rock, draft_.rock(*to).name, about};
}

bool Corrections::announced(const std::string& digits) const {
  if (known_sample(digits) || digits == draft_.context.last_sample) return false;
  return std::ranges::any_of(draft_.labels, [&](const LabelSaid& said) {
    return said.of == Of::sample && said.digits == digits &&
           draft_.any(said.first - 3, said.first - 1, [](const Item& item) {
             return item.any_of({"call this", "call it", "calling this", "calling it", "call that",
                                 "this'll be", "this will be", "make this", "log this", "call"});
           });
  });
}

std::optional<PutRight> Corrections::new_number(bool strong) {
  const LabelSaid* to = nullptr;
  bool denied = false;
  for (const LabelSaid& label : draft_.labels) {
    if (label.of != Of::sample) continue;
    if (label.denied || (draft_.at(label.number).mutes & Item::replaced))
      denied = true;
    else if (draft_.at(label.first - 1).is(Sense::correction) &&
             draft_.at(label.first - 1).low > 0) {
      to = &label;  // "should be six, I've a five in my pocket"
      break;
    } else if ((!label.reference && (!to || label.digits != draft_.context.last_sample)) || !to)
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
  const bool measured =
      !denied && known_sample(to->digits) && draft_.any(0, draft_.size() - 1, [](const Item& item) {
        return item.is(Sense::unit) || item.is(Sense::compare) || item.is(Sense::buried) ||
               item.is(Sense::burial);
      });
  if (measured) return std::nullopt;
  // "that's not seven, I've got seven": whose number it is, not which
  for (const LabelSaid& label : draft_.labels) {
    if (label.of == Of::sample && label.denied && label.digits == to->digits) return std::nullopt;
  }
  if (to->reference && !denied) return std::nullopt;
  return PutRight{Changed::sample_number, to->digits, std::nullopt};
}

}  // namespace stonecall::reading::corrections
