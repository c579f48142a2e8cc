#include "console/reading/corrections.hpp"

#include <algorithm>

namespace stonecall::reading {
namespace corrections {
namespace {

std::vector<Value> values_of(const Draft& draft) {
  std::vector<Value> values;
  // "station for six was groyne, not chine": parts of names, where a station is spoken of
  const bool stations = draft.any(0, draft.size() - 1, [](const Item& item) {
    return item.any_of({"station", "stop", "site"});
  });
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
    if (draft.at(i).kind == Item::Kind::station ||
        (stations && draft.at(i).kind == Item::Kind::station_part))
      values.push_back({Value::Type::station, i, i, 0});
    if (draft.at(i).number() && !draft.at(i).used) {
      const Label number = read_label(draft, i);
      values.push_back({Value::Type::number, i, number.digits.empty() ? i : number.last, 0});
      i = values.back().last;
    }
  }
  return values;
}

}  // namespace

bool strikes(const Item& item) {
  return item.any_of(
      {"strike", "scratch", "scratch that", "strike that", "cancel", "cancel that", "disregard"});
}

bool cue(const Item& item) {
  return item.is(Sense::correction) || item.is(Sense::soft_correction);
}

bool no_cue(const Draft& draft, At i) {
  if (!draft.at(i).is("no") && !draft.at(i).is("nope")) return false;
  const Item& next = draft.at(i + 1);
  // "sample nine pyroxenite no dunite"
  if (next.rock() && draft.at(i - 1).rock() && draft.has_label(Of::sample)) return true;
  return next.comma() || next.number() || cue(next) || next.is(Sense::restart) ||
         next.is(Sense::bag) || next.is(Sense::sample) ||
         next.any_of({"wait", "it", "that", "hang", "make", "i", "definitely"});
}

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

Corrections::Corrections(Draft& draft) : draft_(draft), values_(values_of(draft)) {}

void Corrections::run() {
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

At Corrections::kind_behind(At i) const {
  return draft_.skip(i, {Sense::determiner, Sense::colour, Sense::texture, Sense::filler});
}

bool Corrections::opens_with_correction() const {
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

Value* Corrections::value_at(At first, At last) {
  for (Value& value : values_) {
    if (value.first >= first && value.first <= last) return &value;
  }
  return nullptr;
}

Value* Corrections::value_before(At i, Value::Type type) {
  Value* found = nullptr;
  for (Value& value : values_) {
    if (value.last < i && value.type == type) found = &value;
  }
  return found;
}

Value* Corrections::label_before(At i) {
  Value* found = nullptr;
  for (Value& value : values_) {
    if (value.last < i && is_label(value.type)) found = &value;
  }
  return found;
}

bool Corrections::known_sample(const std::string& digits) const {
  return draft_.context.samples.contains(digits);
}

std::optional<LabelSaid> Corrections::first_sample() const {
  for (const LabelSaid& said : draft_.labels) {
    if (said.of == Of::sample && !said.denied) return said;
  }
  return std::nullopt;
}

}  // namespace corrections

void read_corrections(Draft& draft) {
  corrections::Corrections(draft).run();
}

}  // namespace stonecall::reading
