#pragma once

#include <cstddef>
#include <string>
#include <string_view>

#include <boost/container/small_vector.hpp>
#include <simdjson.h>

#include "protocol/fault.hpp"
#include "protocol/plan.hpp"

namespace stonecall::protocol {

/// A value within a JsonText, good until that one reads again.
using Value = simdjson::dom::element;

/// Reads JSON texts from outside, and keeps the room that took for the next, unless it was much.
/// simdjson reads, without a value on the heap for each member: it is done for each event on the
/// server's one network thread and for each line of a log. What simdjson refuses is read by
/// nlohmann's parser, which says where it is wrong, and takes what RFC 8259 allows beyond, as whole
/// numbers past 64 bits.
class JsonText {
 public:
  /// Faults: over `limit_bytes`, nested deeper than Limits::nesting and `around`, not UTF-8, not
  /// JSON, numbers that overflow to infinity.
  Result<Value> read(std::string_view text, std::size_t limit_bytes, int around = 1);

 private:
  simdjson::dom::parser parser_;
  std::string plainer_;
};

struct Field {
  std::string_view name;
  Value value;
};
using Fields = boost::container::small_vector<Field, 24>;

/// The members of an object in their order; of a name that stands twice the last one (RFC 8259
/// leaves it open). Empty where the value is no object.
Fields fields_of(Value value);

/// A copy that stands by itself.
Json json_of(Value value);
/// Appends a copy of a member that is not there yet to an object, or to null, which becomes one.
void append_member(Json& object, const Field& field);

}  // namespace stonecall::protocol
