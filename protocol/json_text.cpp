#include "protocol/json_text.hpp"

#include <algorithm>
#include <tuple>
#include <vector>

#include "protocol/event.hpp"

namespace stonecall::protocol {
namespace {

/// Depth of nesting, found without building anything; brackets inside texts do not count.
int nesting_of(std::string_view text) {
  int depth = 0;
  int deepest = 0;
  bool in_text = false;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const char c = text[i];
    if (in_text) {
      if (c == '\\') {
        ++i;
      } else if (c == '"') {
        in_text = false;
      }
    } else if (c == '"') {
      in_text = true;
    } else if (c == '{' || c == '[') {
      deepest = std::max(deepest, ++depth);
    } else if (c == '}' || c == ']') {
      --depth;
    }
  }
  return deepest;
}

/// More brackets than `most` open in it, those inside texts counted too.
bool opens_more_than(std::string_view text, int most) {
  int count = 0;
  for (const char bracket : {'{', '['}) {
    for (auto at = text.find(bracket); at != text.npos; at = text.find(bracket, at + 1)) {
      if (++count > most) return true;
    }
  }
  return false;
}

/// The library's message without its own name in front: "line 3, column 5: …", or "column 5: …" of
/// a text of one line, whose number only the file knows that it stands in.
std::string plain_message(const std::exception& error, bool one_line) {
  std::string text = error.what();
  if (const auto end = text.find("] "); end != std::string::npos) text.erase(0, end + 2);
  constexpr std::string_view front = "parse error at ", first = "line 1, ";
  if (text.starts_with(front)) text.erase(0, front.size());
  if (one_line && text.starts_with(first)) text.erase(0, first.size());
  // The offending bytes themselves may be no UTF-8, and this text goes into JSON answers.
  for (char& c : text) {
    if (static_cast<unsigned char>(c) >= 0x80) c = '?';
  }
  return text;
}

tl::unexpected<Fault> fault(std::string what) {
  return tl::make_unexpected(Fault{"", std::move(what), std::nullopt});
}

/// Leaves the last of each name, where the first stood.
void drop_repeated(Fields& fields) {
  constexpr std::size_t few = 24;
  if (fields.size() <= few) {
    for (std::size_t i = 1; i < fields.size(); ++i) {
      const auto before = fields.begin() + static_cast<std::ptrdiff_t>(i);
      const auto same = std::find_if(fields.begin(), before,
                                     [&](const Field& f) { return f.name == fields[i].name; });
      if (same == before) continue;
      same->value = fields[i].value;
      fields.erase(fields.begin() + static_cast<std::ptrdiff_t>(i--));
    }
    return;
  }
  // Nobody sends so many but to see what comes of it.
  std::vector<std::size_t> order(fields.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
  std::ranges::sort(order, [&](std::size_t a, std::size_t b) {
    return std::tie(fields[a].name, a) < std::tie(fields[b].name, b);
  });
  std::vector<bool> repeated(fields.size());
  for (std::size_t i = 1, first = 0; i < order.size(); ++i) {
    if (fields[order[i]].name != fields[order[first]].name) {
      first = i;
      continue;
    }
    fields[order[first]].value = fields[order[i]].value;
    repeated[order[i]] = true;
  }
  std::size_t kept = 0;
  for (std::size_t i = 0; i < fields.size(); ++i)
    if (!repeated[i]) fields[kept++] = fields[i];
  fields.resize(kept);
}

}  // namespace

Result<Value> JsonText::read(std::string_view text, std::size_t limit_bytes, int around) {
  if (text.size() > limit_bytes) {
    return fault("is " + std::to_string(text.size()) + " bytes long; the limit is " +
                 std::to_string(limit_bytes));
  }
  const int deepest = Limits::nesting + around;
  if (opens_more_than(text, deepest)) {
    if (const int depth = nesting_of(text); depth > deepest) {
      return fault("is nested " + std::to_string(depth) + " deep; the limit is " +
                   std::to_string(Limits::nesting));
    }
  }
  constexpr std::size_t keep_room_for = 256 * 1024;
  if (parser_.capacity() > keep_room_for && text.size() <= keep_room_for)
    parser_ = simdjson::dom::parser();
  Value root;
  if (!parser_.parse(text.data(), text.size()).get(root)) return root;
  try {
    plainer_ = Json::parse(text).dump();
  } catch (const Json::exception& error) {
    return fault("not JSON: " + plain_message(error, text.find('\n') == std::string_view::npos));
  }
  if (const auto error = parser_.parse(plainer_).get(root))
    return fault(std::string("not JSON: ") + simdjson::error_message(error));
  return root;
}

Fields fields_of(Value value) {
  Fields fields;
  simdjson::dom::object object;
  if (value.get(object)) return fields;
  for (const auto [name, member] : object) fields.push_back({name, member});
  drop_repeated(fields);
  return fields;
}

Json json_of(Value value) {
  using Type = simdjson::dom::element_type;
  switch (value.type()) {
    case Type::OBJECT: {
      Json json = Json::object();
      for (const Field& field : fields_of(value)) append_member(json, field);
      return json;
    }
    case Type::ARRAY: {
      Json json = Json::array();
      simdjson::dom::array list;
      if (!value.get(list))
        for (const Value each : list) json.push_back(json_of(each));
      return json;
    }
    case Type::STRING:
      return std::string(value.get_string().value_unsafe());
    case Type::INT64: {
      const std::int64_t number = value.get_int64().value_unsafe();
      return number < 0 ? Json(number) : Json(static_cast<std::uint64_t>(number));
    }
    case Type::UINT64:
      return value.get_uint64().value_unsafe();
    case Type::DOUBLE:
      return value.get_double().value_unsafe();
    case Type::BOOL:
      return value.get_bool().value_unsafe();
    case Type::NULL_VALUE:
      break;
  }
  return nullptr;
}

void append_member(Json& object, const Field& field) {
  if (object.is_null()) object = Json::object();
  // Not by its [], which looks through all members each time.
  std::vector<Json::object_t::value_type>& members = object.get_ref<Json::object_t&>();
  members.emplace_back(std::string(field.name), json_of(field.value));
}

}  // namespace stonecall::protocol
