#pragma once

// The reader and the writer that walk the descriptions in members.hpp.

#include <algorithm>
#include <cmath>
#include <string>
#include <string_view>
#include <vector>

#include "protocol/members.hpp"
#include "protocol/words.hpp"

namespace stonecall::protocol {

Result<Fact> parse_fact(const Json& json, const std::string& path);
Json fact_to_json(const Fact& fact);

/// What was found wrong so far. Most readers have enough of the first; who checks a file wants all.
struct Faults {
  bool all = false;
  std::vector<Fault> list;

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

/// Checks that one member alone cannot say: what holds between members. Overloaded where a type has
/// such rules.
template <class T>
void consistent(const T&, const std::string& /*path*/, Faults&) {}
void consistent(const PercentRange& range, const std::string& path, Faults& faults);
void consistent(const Tally& tally, const std::string& path, Faults& faults);
void consistent(const Share& share, const std::string& path, Faults& faults);
void consistent(const Words& words, const std::string& path, Faults& faults);
void consistent(const Plan& plan, const std::string& path, Faults& faults);

/// Fills a type from JSON and says what is wrong with it.
template <class T>
void read_object(const Json& json, T& out, const std::string& path, Faults& faults,
                 Json* unknown = nullptr);
/// The first fault.
template <class T>
std::optional<Fault> read_object(const Json& json, T& out, const std::string& path,
                                 Json* unknown = nullptr);

/// Fills a type from a JSON object, as far as faults are wanted.
class Reader {
 public:
  Reader(const Json& json, std::string path, Faults& faults)
      : json_(json), path_(std::move(path)), faults_(faults) {}

  template <class T, class Form>
  void operator()(const char* name, T& out, Form form) {
    if (faults_.enough()) return;
    known_.push_back(name);
    const auto found = json_.find(name);
    if (found == json_.end()) return fail(name, "missing");
    read(name, *found, out, form);
  }

  template <class T, class Form>
  void operator()(const char* name, Apart<T>& out, Form form) {
    (*this)(name, out.emplace(), form);
  }

  template <class T, class Form>
  void maybe(const char* name, T& out, Form form) {
    if (faults_.enough()) return;
    known_.push_back(name);
    if (const auto found = json_.find(name); found != json_.end()) read(name, *found, out, form);
  }

  template <class T, class Form>
  void maybe(const char* name, std::optional<T>& out, Form form) {
    maybe_in(name, out, form);
  }
  template <class T, class Form>
  void maybe(const char* name, Apart<T>& out, Form form) {
    maybe_in(name, out, form);
  }

  template <class T, class Form>
  void sparse(const char* name, T& out, Form form) {
    maybe(name, out, form);
  }

  bool knows(std::string_view name) const {
    return std::ranges::find(known_, name) != known_.end();
  }

 private:
  template <class Optional, class Form>
  void maybe_in(const char* name, Optional& out, Form form) {
    if (faults_.enough()) return;
    known_.push_back(name);
    if (const auto found = json_.find(name); found != json_.end())
      read(name, *found, out.emplace(), form);
  }

  void fail(const std::string& member, std::string what) {
    faults_.add(at(member), std::move(what));
  }

  std::string at(const std::string& member) const {
    return path_.empty() ? member : path_ + "." + member;
  }

  void read_text(const std::string& name, const Json& json, std::string& out, std::size_t min,
                 std::size_t max) {
    if (!json.is_string()) return fail(name, "must be text");
    out = json.get_ref<const std::string&>();
    if (out.size() < min) return fail(name, "must not be empty");
    if (out.size() > max) {
      fail(name,
           "is " + std::to_string(out.size()) + " bytes long; the limit is " + std::to_string(max));
    }
  }
  void read(const std::string& name, const Json& json, std::string& out, Name) {
    read_text(name, json, out, 1, Limits::name_bytes);
  }
  void read(const std::string& name, const Json& json, std::string& out, Text) {
    read_text(name, json, out, 0, Limits::text_bytes);
  }

  void read(const std::string& name, const Json& json, double& out, Number form) {
    if (!json.is_number()) return fail(name, "must be a number");
    out = json.get<double>();
    if (!std::isfinite(out)) return fail(name, "must be a finite number");
    if (out < form.min || out > form.max) {
      fail(name, "must lie within " + Json(form.min).dump() + " and " + Json(form.max).dump());
    }
  }

  template <class Int>
  requires std::integral<Int>
  void read(const std::string& name, const Json& json, Int& out, Whole form) {
    const auto outside = [&] {
      fail(name, "must be a whole number within " + std::to_string(form.min) + " and " +
                     std::to_string(form.max));
    };
    // 7.0 is a whole number to JSON, which knows one kind of number only.
    if (!json.is_number()) return outside();
    const double value = json.get<double>();
    if (!(value >= static_cast<double>(form.min) && value <= static_cast<double>(form.max)) ||
        std::trunc(value) != value) {
      return outside();
    }
    out = static_cast<Int>(value);
  }

  void read(const std::string& name, const Json& json, bool& out, Flag) {
    if (!json.is_boolean()) return fail(name, "must be true or false");
    out = json.get<bool>();
  }

  void read(const std::string& name, const Json& json, Timestamp& out, Time) {
    if (!json.is_string()) return fail(name, "must be an RFC 3339 time in text");
    auto time = parse_timestamp(json.get_ref<const std::string&>());
    if (!time) return fail(name, time.error().what);
    out = *time;
  }

  void read(const std::string& name, const Json& json, Uuid& out, Id) {
    if (!json.is_string()) return fail(name, "must be a UUID in text");
    auto id = parse_uuid(json.get_ref<const std::string&>());
    if (!id) return fail(name, id.error().what);
    out = *id;
  }

  template <class Enum>
  void read(const std::string& name, const Json& json, Enum& out, Choice) {
    const auto value =
        json.is_string() ? from_word<Enum>(json.get_ref<const std::string&>()) : std::nullopt;
    if (!value) return fail(name, "must be " + all_words<Enum>());
    out = *value;
  }

  void read(const std::string& name, const Json& json, Json& out, Raw) {
    if (!json.is_object()) return fail(name, "must be an object");
    out = json;
  }

  void read(const std::string& name, const Json& json, Fact& out, Object) {
    auto fact = parse_fact(json, at(name));
    if (!fact) {
      if (!faults_.enough()) faults_.list.push_back(fact.error());
      return;
    }
    out = std::move(*fact);
  }

  template <class T>
  void read(const std::string& name, const Json& json, T& out, Object) {
    read_object(json, out, at(name), faults_);
  }

  template <class T, class Each>
  void read(const std::string& name, const Json& json, std::vector<T>& out, ListOf<Each> form) {
    if (!json.is_array()) return fail(name, "must be a list");
    if (json.size() > form.max) {
      return fail(name, "has " + std::to_string(json.size()) + " entries; the limit is " +
                            std::to_string(form.max));
    }
    out.clear();
    out.reserve(json.size());
    for (std::size_t i = 0; i < json.size() && !faults_.enough(); ++i) {
      read(name + "[" + std::to_string(i) + "]", json[i], out.emplace_back(), form.each);
    }
  }

  const Json& json_;
  std::string path_;
  std::vector<std::string_view> known_;
  Faults& faults_;
};

template <class T>
void read_object(const Json& json, T& out, const std::string& path, Faults& faults, Json* unknown) {
  if (!json.is_object()) return faults.add(path, "must be an object");
  const std::size_t before = faults.list.size();
  Reader reader(json, path, faults);
  describe(reader, out);
  // A plan's parts are held against each other as far as they are sound by themselves.
  if (faults.list.size() == before || (std::same_as<T, Plan> && faults.all))
    consistent(out, path, faults);
  if (faults.list.size() > before || !unknown) return;
  for (const auto& [name, value] : json.items()) {
    if (!reader.knows(name)) (*unknown)[name] = value;
  }
}

template <class T>
std::optional<Fault> read_object(const Json& json, T& out, const std::string& path, Json* unknown) {
  Faults faults;
  read_object(json, out, path, faults, unknown);
  if (faults.list.empty()) return std::nullopt;
  return std::move(faults.list.front());
}

/// Appends the members of a type to a JSON object.
class Writer {
 public:
  explicit Writer(Json& json) : json_(json) {}

  template <class T, class Form>
  void operator()(const char* name, const T& value, Form form) {
    json_[name] = write(value, form);
  }

  template <class T, class Form>
  void operator()(const char* name, const Apart<T>& value, Form form) {
    json_[name] = write(*value, form);
  }

  template <class T, class Form>
  void maybe(const char* name, const std::optional<T>& value, Form form) {
    if (value) json_[name] = write(*value, form);
  }
  template <class T, class Form>
  void maybe(const char* name, const Apart<T>& value, Form form) {
    if (value) json_[name] = write(*value, form);
  }
  template <class T, class Form>
  void maybe(const char* name, const T& value, Form form) {
    json_[name] = write(value, form);
  }

  template <class T, class Form>
  void sparse(const char* name, const T& value, Form form) {
    if (!value.empty()) json_[name] = write(value, form);
  }

 private:
  template <class T, class Form>
  static Json write(const T& value, const Form& form) {
    if constexpr (std::same_as<Form, Time> || std::same_as<Form, Id>) {
      return to_string(value);
    } else if constexpr (std::same_as<Form, Choice>) {
      return std::string(word_of(value));
    } else if constexpr (std::same_as<T, Fact>) {
      return fact_to_json(value);
    } else if constexpr (std::same_as<Form, Object>) {
      Json json = Json::object();
      Writer writer(json);
      describe(writer, value);
      return json;
    } else if constexpr (requires { form.each; }) {
      Json json = Json::array();
      for (const auto& each : value) json.push_back(write(each, form.each));
      return json;
    } else if constexpr (std::same_as<Form, Number>) {
      // Whole numbers are written without ".0": people read logs, and 10 is what was sent.
      constexpr double kExact = 9007199254740992.0;  // 2^53
      if (std::trunc(value) == value && std::abs(value) <= kExact)
        return static_cast<std::int64_t>(value);
      return value;
    } else {
      return value;
    }
  }

  Json& json_;
};

}  // namespace stonecall::protocol
