#include "protocol/json_line.hpp"

#include <algorithm>
#include <charconv>
#include <optional>

#include "protocol/event.hpp"

namespace stonecall::protocol {
namespace {

/// Steps through a text that is known to be JSON.
class Walk {
 public:
  explicit Walk(std::string_view text) : text_(text) { space(); }

  std::size_t at() const { return at_; }
  bool is(char c) const { return at_ < text_.size() && text_[at_] == c; }

  /// Over the value that begins here.
  void value() {
    if (is('"')) {
      string();
    } else if (is('{') || is('[')) {
      int depth = 0;
      do {
        if (is('"')) {
          string();
          continue;
        }
        depth += is('{') || is('[') ? 1 : is('}') || is(']') ? -1 : 0;
        ++at_;
      } while (depth > 0 && at_ < text_.size());
    } else {
      at_ = std::min(text_.find_first_of(",]} \t\r\n", at_), text_.size());
    }
    space();
  }

  /// Where the value of a member of the object that begins here begins.
  std::optional<std::size_t> member(std::string_view name) {
    std::optional<std::size_t> found;
    step();
    while (!is('}') && at_ < text_.size()) {
      const std::size_t begin = at_;
      string();
      const Json key = Json::parse(text_.substr(begin, at_ - begin), nullptr, false);
      space();
      step();  // the colon
      if (key.is_string() && key.get_ref<const std::string&>() == name) found = at_;
      value();
      if (is(',')) step();
    }
    return found;
  }

  /// Where an entry of the list that begins here begins.
  std::optional<std::size_t> entry(std::size_t index) {
    step();
    for (; !is(']') && at_ < text_.size(); --index) {
      if (index == 0) return at_;
      value();
      if (is(',')) step();
    }
    return std::nullopt;
  }

  void go(std::size_t at) { at_ = at; }

 private:
  void space() { at_ = std::min(text_.find_first_not_of(" \t\r\n", at_), text_.size()); }
  void step() {
    ++at_;
    space();
  }
  void string() {
    for (++at_; at_ < text_.size() && text_[at_] != '"'; ++at_)
      if (text_[at_] == '\\') ++at_;
    at_ = std::min(at_ + 1, text_.size());
  }

  std::string_view text_;
  std::size_t at_ = 0;
};

}  // namespace

std::size_t line_in_json(std::string_view json, std::string_view path) {
  Walk walk(json);
  while (!path.empty()) {
    const std::size_t here = walk.at();
    std::optional<std::size_t> next;
    if (path.front() == '[') {
      std::size_t index = 0;
      const auto read = std::from_chars(path.data() + 1, path.data() + path.size(), index);
      path.remove_prefix(static_cast<std::size_t>(read.ptr - path.data()));
      if (path.starts_with(']')) path.remove_prefix(1);
      if (walk.is('[')) next = walk.entry(index);
    } else {
      const auto name = path.substr(0, path.find_first_of(".["));
      path.remove_prefix(name.size());
      if (walk.is('{')) next = walk.member(name);
    }
    if (path.starts_with('.')) path.remove_prefix(1);
    walk.go(next.value_or(here));
    if (!next) break;
  }
  return static_cast<std::size_t>(std::ranges::count(json.substr(0, walk.at()), '\n')) + 1;
}

}  // namespace stonecall::protocol
