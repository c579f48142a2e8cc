#pragma once

// The writer that walks the descriptions in members.hpp. It writes text at once, without JSON
// values between: the server writes each event it takes, on the thread that serves all connections.

#include <cmath>
#include <concepts>
#include <string>
#include <string_view>
#include <vector>

#include "protocol/members.hpp"
#include "protocol/words.hpp"

namespace stonecall::protocol {

/// Appends a JSON text, escaped as far as RFC 8259 asks. Throws nlohmann's type_error where it is
/// not UTF-8.
void append_text(std::string& json, std::string_view text);
/// Appends the digits of a whole number.
void append_whole(std::string& json, std::int64_t number);
/// Appends a number, shortest of those that read back the same; whole ones without ".0": people
/// read logs, and 10 is what was sent. One that is not finite is written as null.
void append_number(std::string& json, double number);
/// Appends a fact as an object, its kind first.
void append_fact(std::string& json, const Fact& fact);

/// Appends the members of a type to an object's JSON text, each with a comma before it unless the
/// text ends with the object's `{`.
class Writer {
 public:
  explicit Writer(std::string& json) : json_(json) {}

  template <class T, class Form>
  void operator()(std::string_view name, const T& value, Form form) {
    member(name);
    write(value, form);
  }
  template <class T, class Form>
  void operator()(std::string_view name, const Apart<T>& value, Form form) {
    (*this)(name, *value, form);
  }

  template <class T, class Form>
  void maybe(std::string_view name, const std::optional<T>& value, Form form) {
    if (value) (*this)(name, *value, form);
  }
  template <class T, class Form>
  void maybe(std::string_view name, const Apart<T>& value, Form form) {
    if (value) (*this)(name, *value, form);
  }
  template <class T, class Form>
  void maybe(std::string_view name, const T& value, Form form) {
    (*this)(name, value, form);
  }

  template <class T, class Form>
  void sparse(std::string_view name, const T& value, Form form) {
    if (!value.empty()) (*this)(name, value, form);
  }

  /// Members that are kept as they came.
  void all_of(const Json& object) {
    for (const auto& [name, value] : object.items()) {
      separate();
      append_text(json_, name);
      json_ += ':';
      json_ += value.dump();
    }
  }

 private:
  void separate() {
    if (!json_.ends_with('{')) json_ += ',';
  }
  /// The names of described members need no escape.
  void member(std::string_view name) {
    separate();
    json_.append(1, '"').append(name).append("\":");
  }
  void plain(std::string_view text) { json_.append(1, '"').append(text).append(1, '"'); }

  void write(const std::string& value, Name) { append_text(json_, value); }
  void write(const std::string& value, Text) { append_text(json_, value); }
  void write(double value, Number) { append_number(json_, value); }
  void write(std::integral auto value, Whole) {
    append_whole(json_, static_cast<std::int64_t>(value));
  }
  void write(bool value, Flag) { json_ += value ? "true" : "false"; }
  void write(const Timestamp& value, Time) { plain(to_string(value)); }
  void write(const Uuid& value, Id) { plain(to_string(value)); }
  template <class Enum>
  void write(Enum value, Choice) {
    plain(word_of(value));
  }
  void write(const Json& value, Raw) { json_ += value.dump(); }
  void write(const Fact& value, Object) { append_fact(json_, value); }
  template <class T>
  void write(const T& value, Object) {
    json_ += '{';
    describe(*this, value);
    json_ += '}';
  }
  template <class T, class Each>
  void write(const std::vector<T>& values, const ListOf<Each>& form) {
    json_ += '[';
    for (const T& each : values) {
      if (&each != &values.front()) json_ += ',';
      write(each, form.each);
    }
    json_ += ']';
  }

  std::string& json_;
};

}  // namespace stonecall::protocol
