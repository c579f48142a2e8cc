#include "console/commands/samples_table.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <memory>

#include <boost/algorithm/string.hpp>
#include <csv.h>

namespace stonecall::commands {
namespace {

using protocol::Fault;
using protocol::Json;

using Fields = std::vector<std::string>;

enum class Form { text, figure, time, chosen, unselective, place_from };

struct Column {
  std::string_view names;   ///< as headings have it, the first our own
  std::string_view member;  ///< of a sample event; "place.latitude" is inside "place"
  Form form;
};

constexpr std::array known_columns{
    Column{"number sample sample_number field_number no", "number", Form::text},
    Column{"bag bag_number", "bag", Form::text},
    Column{"rock kind rock_kind lithology", "rock", Form::text},
    Column{"station stop", "station", Form::text},
    Column{"first_word time at taken_at date_time", "", Form::time},
    Column{"latitude lat", "place.latitude", Form::figure},
    Column{"longitude lon long lng", "place.longitude", Form::figure},
    Column{"height_metres height elevation altitude", "place.height_metres", Form::figure},
    Column{"place_from", "", Form::place_from},
    Column{"tie_to", "tie.to", Form::text},
    Column{"tie_bearing_degrees", "tie.bearing_degrees", Form::figure},
    Column{"tie_distance_metres", "tie.distance_metres", Form::figure},
    Column{"size_mm size", "size_mm", Form::figure},
    Column{"buried_low_percent", "buried.low", Form::figure},
    Column{"buried_high_percent", "buried.high", Form::figure},
    Column{"like_it_low_percent", "like_it.low", Form::figure},
    Column{"like_it_high_percent", "like_it.high", Form::figure},
    Column{"picked", "picked", Form::text},
    Column{"relation", "relation", Form::text},
    Column{"description notes remarks", "description", Form::text},
    Column{"shape", "shape", Form::text},
    Column{"colour color", "colour", Form::text},
    Column{"texture", "texture", Form::text},
    Column{"chosen", "", Form::chosen},
    Column{"unselective", "", Form::unselective},
};

const Column* column_named(std::string heading) {
  boost::algorithm::trim(heading);
  boost::algorithm::to_lower(heading);
  std::ranges::replace_if(
      heading, [](char c) { return c == ' ' || c == '-'; }, '_');
  for (const Column& column : known_columns) {
    Fields names;
    boost::algorithm::split(names, column.names, [](char c) { return c == ' '; });
    if (std::ranges::find(names, heading) != names.end()) return &column;
  }
  return nullptr;
}

/// Rows of a text by libcsv, in its strict mode; a broken row costs its first line alone.
class Rows {
 public:
  Rows(std::string_view text, char delimiter) : delimiter_(delimiter) {
    while (!text.empty()) {
      std::size_t end = std::min(text.find_first_of("\r\n"), text.size() - 1) + 1;
      if (text.substr(end - 1).starts_with("\r\n")) ++end;
      lines_.push_back(text.substr(0, end));
      text.remove_prefix(end);
    }
  }

  struct Row {
    std::size_t line = 0;
    Fields fields;
    std::string fault;  ///< empty: none
  };

  /// None: the text is at its end.
  std::optional<Row> next() {
    while (next_ < lines_.size()) {
      Row row = read();
      if (!row.fault.empty() || !row.fields.empty()) return row;
    }
    return std::nullopt;
  }

 private:
  Row read() {
    Row row{next_ + 1, {}, {}};
    csv_parser raw;
    csv_init(&raw, CSV_STRICT | CSV_STRICT_FINI);
    const std::unique_ptr<csv_parser, void (*)(csv_parser*)> parser(&raw, csv_free);
    csv_set_delim(&raw, static_cast<unsigned char>(delimiter_));
    bool ended = false;
    struct Taken {
      Fields& fields;
      bool& ended;
    } taken{row.fields, ended};
    const auto field = [](void* bytes, std::size_t count, void* into) {
      static_cast<Taken*>(into)->fields.emplace_back(static_cast<const char*>(bytes), count);
    };
    const auto end = [](int, void* into) { static_cast<Taken*>(into)->ended = true; };
    const std::size_t first = next_;
    std::size_t bytes = 0;
    const auto broken = [&](std::string what) {
      next_ = first + 1;
      return Row{first + 1, {}, std::move(what)};
    };
    while (!ended && next_ < lines_.size()) {
      const std::string_view line = lines_[next_++];
      bytes += line.size();
      // What an event may hold; a quote that is never closed takes all that comes after it.
      if (bytes > protocol::Limits::event_bytes)
        return broken("over 64 KiB, or a quotation mark that is never closed");
      if (csv_parse(&raw, line.data(), line.size(), field, end, &taken) != line.size())
        return broken("a quotation mark where none may stand");
      // An empty line is no row, and its like inside quotes is part of one.
      if (!ended && row.fields.empty() && boost::algorithm::trim_copy(line).empty() &&
          next_ == first + 1)
        return row;
    }
    if (!ended && csv_fini(&raw, field, end, &taken) != 0)
      return broken("a quotation mark that is never closed");
    return row;
  }

  char delimiter_;
  std::vector<std::string_view> lines_;
  std::size_t next_ = 0;
};

char delimiter_of(std::string_view text) {
  const std::string_view heading = text.substr(0, text.find('\n'));
  constexpr std::string_view delimiters = ",;\t";
  return *std::ranges::max_element(delimiters, {},
                                   [&](char c) { return std::ranges::count(heading, c); });
}

std::optional<double> figure(std::string text, bool decimal_commas) {
  if (decimal_commas) std::ranges::replace(text, ',', '.');
  double value = 0;
  const char* const end = text.data() + text.size();
  const auto [stop, error] = std::from_chars(text.data(), end, value);
  if (error != std::errc() || stop != end || !std::isfinite(value)) return std::nullopt;
  return value;
}

/// RFC 3339, or parts of it that `local` completes: without the offset, without seconds, without
/// the day.
protocol::Result<protocol::Timestamp> time_of(std::string text, const LocalTime& local) {
  const bool clock_alone = text.find('-') == std::string::npos && text.find(':') < 3;
  if (clock_alone) {
    if (!local.day)
      return tl::unexpected(
          Fault{"", "a time of day without the day, and the recordings are of several", {}});
    text = *local.day + "T" + (text.find(':') == 1 ? "0" : "") + text;
  }
  if (text.size() > 10 && text[10] == ' ') text[10] = 'T';
  if (text.size() == 16) text += ":00";
  if (auto whole = protocol::parse_timestamp(text)) return whole;
  const std::string sign = protocol::to_string(protocol::Timestamp{{}, local.offset});
  return protocol::parse_timestamp(text + sign.substr(sign.size() - 6));
}

class Table {
 public:
  Table(const Fields& headings, bool decimal_commas, const LocalTime& local)
      : headings_(headings), decimal_commas_(decimal_commas), local_(local) {
    for (const std::string& heading : headings_) columns_.push_back(column_named(heading));
  }

  std::optional<Fault> fault() const {
    for (std::size_t i = 0; i < columns_.size(); ++i) {
      const auto same = std::ranges::find(columns_, columns_[i]);
      if (columns_[i] && same != columns_.begin() + static_cast<std::ptrdiff_t>(i))
        return Fault{"", "column \"" + headings_[i] + "\" says what another says already", 1};
    }
    const auto names = [](const char* member) {
      return [member](const Column* column) { return column && column->member == member; };
    };
    if (std::ranges::none_of(columns_, names("number")) &&
        std::ranges::none_of(columns_, names("bag")))
      return Fault{"", "no column \"number\" and none \"bag\" in the heading", 1};
    return std::nullopt;
  }

  Fields passed_over() const {
    Fields unknown;
    for (std::size_t i = 0; i < columns_.size(); ++i)
      if (!columns_[i] && !headings_[i].empty()) unknown.push_back(headings_[i]);
    return unknown;
  }

  protocol::Result<CataloguedSample> read(const Rows::Row& row) const {
    const auto fault = [&](std::string member, std::string what) {
      return tl::unexpected(Fault{std::move(member), std::move(what), row.line});
    };
    if (row.fields.size() != columns_.size())
      return fault("", std::to_string(row.fields.size()) + " fields where the heading has " +
                           std::to_string(columns_.size()));
    CataloguedSample made{row.line, {}, {}};
    // By way of an event's text, so that the limits of events are held to.
    Json json{{"id", "00000000-0000-0000-0000-000000000000"},
              {"kind", protocol::SampleTaken::kind},
              {"at", "1970-01-01T00:00:00Z"},
              {"from", "table"}};
    bool place_follows_from_tie = false;
    for (std::size_t i = 0; i < columns_.size(); ++i) {
      const Column* const column = columns_[i];
      const std::string text = boost::algorithm::trim_copy(row.fields[i]);
      if (!column || text.empty()) continue;
      switch (column->form) {
        case Form::text:
          put(json, column->member, text);
          break;
        case Form::figure: {
          const auto value = figure(text, decimal_commas_);
          if (!value) return fault(headings_[i], "\"" + text + "\" is not a number");
          put(json, column->member, *value);
          break;
        }
        case Form::time: {
          const auto at = time_of(text, local_);
          if (!at) return fault(headings_[i], "\"" + text + "\": " + at.error().what);
          made.at = *at;
          break;
        }
        case Form::chosen:
        case Form::unselective: {
          const bool yes = boost::algorithm::iequals(text, "yes");
          if (!yes && !boost::algorithm::iequals(text, "no"))
            return fault(headings_[i], "\"" + text + "\" is neither yes nor no");
          // Chosen is what every sample is that nobody says otherwise of.
          if (yes == (column->form == Form::unselective)) json["unselective"] = true;
          break;
        }
        case Form::place_from:
          place_follows_from_tie = text == "tie";
          break;
      }
    }
    if (place_follows_from_tie) json.erase("place");
    std::string written;
    try {
      written = json.dump();
    } catch (const Json::type_error&) {
      return fault("", "not UTF-8");
    }
    auto event = protocol::parse_event(written);
    if (!event) return fault(event.error().member, event.error().what);
    made.sample = std::get<protocol::SampleTaken>(std::move(event->body));
    if (!made.sample.number && !made.sample.bag) return fault("", "neither a number nor a bag");
    return made;
  }

 private:
  static void put(Json& json, std::string_view member, Json value) {
    const std::size_t dot = member.find('.');
    if (dot == std::string_view::npos)
      json[std::string(member)] = std::move(value);
    else
      json[std::string(member.substr(0, dot))][std::string(member.substr(dot + 1))] =
          std::move(value);
  }

  const Fields& headings_;
  bool decimal_commas_;
  const LocalTime& local_;
  std::vector<const Column*> columns_;
};

}  // namespace

protocol::Result<SamplesTable> samples_from_csv(std::string_view text, const LocalTime& local) {
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
  const char delimiter = delimiter_of(text);
  Rows rows(text, delimiter);
  const auto heading = rows.next();
  if (!heading) return tl::unexpected(Fault{"", "empty, expected a heading", 1});
  if (!heading->fault.empty()) return tl::unexpected(Fault{"", heading->fault, heading->line});
  const Table table(heading->fields, delimiter != ',', local);
  if (auto fault = table.fault()) return tl::unexpected(std::move(*fault));

  SamplesTable samples;
  samples.passed_over = table.passed_over();
  while (const auto row = rows.next()) {
    if (!row->fault.empty()) {
      samples.faults.push_back({"", row->fault, row->line});
      continue;
    }
    // What a spreadsheet leaves of rows that were emptied.
    if (std::ranges::all_of(row->fields, &std::string::empty)) continue;
    if (auto sample = table.read(*row))
      samples.rows.push_back(std::move(*sample));
    else
      samples.faults.push_back(sample.error());
  }
  return samples;
}

}  // namespace stonecall::commands
