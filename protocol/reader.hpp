#pragma once

// The reader that walks the descriptions in members.hpp.

#include <algorithm>
#include <cmath>
#include <string>
#include <string_view>
#include <vector>

#include "protocol/json_text.hpp"
#include "protocol/members.hpp"
#include "protocol/words.hpp"

namespace stonecall::protocol {

/// Where in a text something stands, as "counts[2].rock"; put together only when it is to be said.
struct Place {
  const Place* within = nullptr;
  std::string_view member{};
  std::optional<std::size_t> entry{};

  std::string text() const {
    std::string path = within ? within->text() : std::string();
    if (entry) return path + "[" + std::to_string(*entry) + "]";
    if (!path.empty() && !member.empty()) path += '.';
    return path.append(member);
  }
};

/// What was found wrong so far. Most readers have enough of the first; who checks a file wants all.
struct Faults {
  bool all = false;
  std::vector<Fault> list;
  std::vector<Fault> unheeded;  ///< members that mean nothing here; only where all is wanted

  bool enough() const { return !all && !list.empty(); }
  void add(std::string member, std::string what) {
    if (!enough()) list.push_back({std::move(member), std::move(what), std::nullopt});
  }
  /// Nothing is wrong with this member or within it.
  bool sound(std::string_view member) const {
    return std::ranges::none_of(list,
                                [&](const Fault& each) { return each.member.starts_with(member); });
  }
};

void read_fact(Value value, const Place& place, Fact& out, Faults& faults);

/// Checks that one member alone cannot say: what holds between members. Overloaded where a type has
/// such rules.
template <class T>
void consistent(const T&, const std::string& /*path*/, Faults&) {}
void consistent(const PercentRange& range, const std::string& path, Faults& faults);
void consistent(const Tally& tally, const std::string& path, Faults& faults);
void consistent(const Share& share, const std::string& path, Faults& faults);
void consistent(const Words& words, const std::string& path, Faults& faults);
void consistent(const Plan& plan, const std::string& path, Faults& faults);

/// Fills a type from an object, as far as faults are wanted.
class Reader {
 public:
  Reader(const Fields& fields, const Place& place, Faults& faults)
      : fields_(fields), place_(place), faults_(faults) {}

  template <class T, class Form>
  void operator()(std::string_view name, T& out, Form form) {
    if (faults_.enough()) return;
    if (const Field* field = find(name))
      read(Place{&place_, name}, field->value, out, form);
    else
      fail(Place{&place_, name}, "missing");
  }

  template <class T, class Form>
  void operator()(std::string_view name, Apart<T>& out, Form form) {
    (*this)(name, out.emplace(), form);
  }

  template <class T, class Form>
  void maybe(std::string_view name, T& out, Form form) {
    if (faults_.enough()) return;
    if (const Field* field = find(name)) read(Place{&place_, name}, field->value, out, form);
  }
  template <class T, class Form>
  void maybe(std::string_view name, std::optional<T>& out, Form form) {
    maybe_in(name, out, form);
  }
  template <class T, class Form>
  void maybe(std::string_view name, Apart<T>& out, Form form) {
    maybe_in(name, out, form);
  }

  template <class T, class Form>
  void sparse(std::string_view name, T& out, Form form) {
    maybe(name, out, form);
  }

  bool knows(std::string_view name) const {
    return std::ranges::find(known_, name) != known_.end();
  }

 private:
  template <class Optional, class Form>
  void maybe_in(std::string_view name, Optional& out, Form form) {
    if (faults_.enough()) return;
    if (const Field* field = find(name))
      read(Place{&place_, name}, field->value, out.emplace(), form);
  }

  /// Members mostly come in the order of their description, so the next one is looked at first.
  const Field* find(std::string_view name) {
    known_.push_back(name);
    for (std::size_t i = 0; i < fields_.size(); ++i) {
      const std::size_t at = (next_ + i) % fields_.size();
      if (fields_[at].name != name) continue;
      next_ = at + 1;
      return &fields_[at];
    }
    return nullptr;
  }

  void fail(const Place& place, std::string what) { faults_.add(place.text(), std::move(what)); }

  void read_text(const Place& place, Value value, std::string& out, std::size_t min,
                 std::size_t max) {
    std::string_view text;
    if (value.get(text)) return fail(place, "must be text");
    out = text;
    if (out.size() < min) return fail(place, "must not be empty");
    if (out.size() > max) {
      fail(place,
           "is " + std::to_string(out.size()) + " bytes long; the limit is " + std::to_string(max));
    }
  }
  void read(const Place& place, Value value, std::string& out, Name) {
    read_text(place, value, out, 1, Limits::name_bytes);
  }
  void read(const Place& place, Value value, std::string& out, Text) {
    read_text(place, value, out, 0, Limits::text_bytes);
  }

  void read(const Place& place, Value value, double& out, Number form) {
    if (value.get(out)) return fail(place, "must be a number");
    if (!std::isfinite(out)) return fail(place, "must be a finite number");
    if (out < form.min || out > form.max) {
      fail(place, "must lie within " + Json(form.min).dump() + " and " + Json(form.max).dump());
    }
  }

  template <class Int>
  requires std::integral<Int>
  void read(const Place& place, Value value, Int& out, Whole form) {
    // 7.0 is a whole number to JSON, which knows one kind of number only.
    double number = 0;
    if (value.get(number) ||
        !(number >= static_cast<double>(form.min) && number <= static_cast<double>(form.max)) ||
        std::trunc(number) != number) {
      return fail(place, "must be a whole number within " + std::to_string(form.min) + " and " +
                             std::to_string(form.max));
    }
    out = static_cast<Int>(number);
  }

  void read(const Place& place, Value value, bool& out, Flag) {
    if (value.get(out)) fail(place, "must be true or false");
  }

  void read(const Place& place, Value value, Timestamp& out, Time) {
    std::string_view text;
    if (value.get(text)) return fail(place, "must be an RFC 3339 time in text");
    auto time = parse_timestamp(text);
    if (!time) return fail(place, time.error().what);
    out = *time;
  }

  void read(const Place& place, Value value, Uuid& out, Id) {
    std::string_view text;
    if (value.get(text)) return fail(place, "must be a UUID in text");
    auto id = parse_uuid(text);
    if (!id) return fail(place, id.error().what);
    out = *id;
  }

  template <class Enum>
  void read(const Place& place, Value value, Enum& out, Choice) {
    std::string_view text;
    const auto word = value.get(text) ? std::nullopt : from_word<Enum>(text);
    if (!word) return fail(place, "must be " + all_words<Enum>());
    out = *word;
  }

  void read(const Place& place, Value value, Json& out, Raw) {
    if (!value.is_object()) return fail(place, "must be an object");
    out = json_of(value);
  }

  void read(const Place& place, Value value, Fact& out, Object) {
    read_fact(value, place, out, faults_);
  }

  template <class T>
  void read(const Place& place, Value value, T& out, Object);

  template <class T, class Each>
  void read(const Place& place, Value value, std::vector<T>& out, ListOf<Each> form) {
    simdjson::dom::array list;
    if (value.get(list)) return fail(place, "must be a list");
    // size() stops counting at 2^24, far above any limit.
    if (list.size() > form.max) {
      return fail(place, "has " + std::to_string(list.size()) + " entries; the limit is " +
                             std::to_string(form.max));
    }
    out.clear();
    out.reserve(list.size());
    for (const Value each : list) {
      if (faults_.enough()) break;
      const std::size_t entry = out.size();
      read(Place{&place, {}, entry}, each, out.emplace_back(), form.each);
    }
  }

  const Fields& fields_;
  const Place& place_;
  std::size_t next_ = 0;
  boost::container::small_vector<std::string_view, 24> known_;
  Faults& faults_;
};

/// Fills a type from its members and says what is wrong with them. Members that are not described
/// are put into `unknown`.
template <class T>
void read_members(const Fields& fields, T& out, const Place& place, Faults& faults,
                  Json* unknown = nullptr) {
  const std::size_t before = faults.list.size();
  Reader reader(fields, place, faults);
  describe(reader, out);
  // A plan's parts are held against each other as far as they are sound by themselves.
  if (faults.list.size() == before || (std::same_as<T, Plan> && faults.all))
    consistent(out, place.text(), faults);
  if (faults.all) {
    for (const Field& field : fields)
      if (!reader.knows(field.name))
        faults.unheeded.push_back(
            {Place{&place, field.name}.text(), "means nothing here; is it misspelt?", {}});
  }
  if (faults.list.size() > before || !unknown) return;
  for (const Field& field : fields) {
    if (!reader.knows(field.name)) append_member(*unknown, field);
  }
}

/// The same for a value that may be no object.
template <class T>
void read_object(Value value, T& out, const Place& place, Faults& faults, Json* unknown = nullptr) {
  if (!value.is_object()) return faults.add(place.text(), "must be an object");
  read_members(fields_of(value), out, place, faults, unknown);
}

template <class T>
void Reader::read(const Place& place, Value value, T& out, Object) {
  read_object(value, out, place, faults_);
}

}  // namespace stonecall::protocol
