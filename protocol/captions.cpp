#include "protocol/captions.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cstdint>
#include <optional>
#include <utility>

#include <boost/uuid/name_generator_sha1.hpp>
#include <boost/uuid/string_generator.hpp>
#include <simdjson.h>

#include "protocol/utf8.hpp"

namespace stonecall::protocol {
namespace {

constexpr std::size_t longest_line = 64 * 1024;
constexpr std::string_view arrow = "-->";

bool is_digit(char c) {
  return c >= '0' && c <= '9';
}
bool is_space(char c) {
  return c == ' ' || c == '\t' || c == '\f';
}

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && is_space(text.front())) text.remove_prefix(1);
  while (!text.empty() && is_space(text.back())) text.remove_suffix(1);
  return text;
}

/// Digits from `text` into a value; how many were taken, 0 if none or more than `most`.
std::size_t take_digits(std::string_view& text, std::size_t most, std::int64_t& value) {
  std::size_t count = 0;
  value = 0;
  while (count < text.size() && is_digit(text[count])) {
    if (count == most) return 0;
    value = value * 10 + (text[count] - '0');
    ++count;
  }
  text.remove_prefix(count);
  return count;
}

bool take(std::string_view& text, char c) {
  if (text.empty() || text.front() != c) return false;
  text.remove_prefix(1);
  return true;
}

/// WebVTT: [hours:]mm:ss.mmm. SubRip: hours:mm:ss,mmm, a full stop for the comma and fewer digits
/// accepted.
std::optional<Milliseconds> take_time(std::string_view& text, CaptionFormat format) {
  const bool strict = format == CaptionFormat::web_vtt;
  std::array<std::int64_t, 3> parts{};
  std::array<std::size_t, 3> digits{};
  std::size_t count = 0;
  for (;;) {
    digits[count] = take_digits(text, 6, parts[count]);
    if (digits[count] == 0) return std::nullopt;
    ++count;
    if (count == 3 || !take(text, ':')) break;
  }
  if (count < 2) return std::nullopt;
  const std::int64_t hours = count == 3 ? parts[0] : 0;
  const std::int64_t minutes = parts[count - 2];
  const std::int64_t seconds = parts[count - 1];
  const bool two_digits =
      digits[count - 2] == 2 && digits[count - 1] == 2 && (count == 2 || digits[0] >= 2);
  if (minutes > 59 || seconds > 59 || (strict && !two_digits)) return std::nullopt;
  if (!take(text, '.') && (strict || !take(text, ','))) return std::nullopt;
  std::int64_t thousandths = 0;
  const std::size_t fraction = take_digits(text, 3, thousandths);
  if (fraction == 0 || (strict && fraction != 3)) return std::nullopt;
  for (std::size_t i = fraction; i < 3; ++i) thousandths *= 10;
  return Milliseconds(((hours * 60 + minutes) * 60 + seconds) * 1000 + thousandths);
}

struct Times {
  Milliseconds begin{};
  Milliseconds end{};
};

/// "begin --> end settings"; the settings say where a cue is drawn and are passed over.
std::optional<Times> read_times(std::string_view line, CaptionFormat format) {
  line = trimmed(line);
  const auto begin = take_time(line, format);
  if (!begin) return std::nullopt;
  line = trimmed(line);
  if (!line.starts_with(arrow)) return std::nullopt;
  line.remove_prefix(arrow.size());
  line = trimmed(line);
  const auto end = take_time(line, format);
  if (!end || (!line.empty() && !is_space(line.front()))) return std::nullopt;
  return Times{*begin, *end};
}

/// Resolves "&amp;" and its like at the front of `text`; an unknown one stands as written.
void take_entity(std::string_view& text, std::string& out) {
  static constexpr std::array<std::pair<std::string_view, std::string_view>, 8> named{
      {{"&amp;", "&"},
       {"&lt;", "<"},
       {"&gt;", ">"},
       {"&nbsp;", " "},
       {"&lrm;", ""},
       {"&rlm;", ""},
       {"&quot;", "\""},
       {"&apos;", "'"}}};
  for (const auto& [name, stands_for] : named) {
    if (!text.starts_with(name)) continue;
    out += stands_for;
    text.remove_prefix(name.size());
    return;
  }
  if (text.starts_with("&#")) {
    const bool hex = text.size() > 2 && (text[2] == 'x' || text[2] == 'X');
    const char* const begin = text.data() + (hex ? 3 : 2);
    const char* const end = text.data() + text.size();
    std::uint32_t point = 0;
    const auto [stop, error] = std::from_chars(std::min(begin, end), end, point, hex ? 16 : 10);
    if (error == std::errc() && stop != end && *stop == ';') {
      utf8::append(out, point);
      text.remove_prefix(static_cast<std::size_t>(stop - text.data()) + 1);
      return;
    }
  }
  out += '&';
  text.remove_prefix(1);
}

struct Voice {
  std::string speaker;
  std::string text;
};

/// Speaker of a start tag <v.class Speaker>; nothing for other tags.
std::optional<std::string> voice_of(std::string_view tag) {
  if (!tag.starts_with("v") || (tag.size() > 1 && tag[1] != '.' && !is_space(tag[1])))
    return std::nullopt;
  const std::size_t space = std::min(tag.find_first_of(" \t"), tag.size());
  std::string_view name = trimmed(tag.substr(space));
  std::string speaker;
  while (!name.empty()) {
    if (name.front() == '&') {
      take_entity(name, speaker);
    } else {
      speaker += name.front();
      name.remove_prefix(1);
    }
  }
  return speaker;
}

/// Parts a cue's text by voice and drops other tags.
std::vector<Voice> voices_of(std::string_view text) {
  std::vector<Voice> voices(1);
  while (!text.empty()) {
    std::string& out = voices.back().text;
    if (text.front() == '&') {
      take_entity(text, out);
      continue;
    }
    const std::size_t close = text.front() == '<' ? text.find('>') : std::string_view::npos;
    const bool tag = close != std::string_view::npos && close > 1 && text.find('<', 1) > close &&
                     (text[1] == '/' || is_digit(text[1]) || (text[1] >= 'a' && text[1] <= 'z') ||
                      (text[1] >= 'A' && text[1] <= 'Z'));
    if (!tag) {
      out += text.front();
      text.remove_prefix(1);
      continue;
    }
    const std::string_view inside = text.substr(1, close - 1);
    if (auto speaker = voice_of(inside)) voices.push_back({std::move(*speaker), {}});
    if (inside == "/v") voices.emplace_back();
    text.remove_prefix(close + 1);
  }
  return voices;
}

/// SubRip has no voice tags; speakers are written in capitals before a colon: "FIELD-1: No granite
/// so far."
void split_speaker(Voice& voice) {
  const std::size_t colon = voice.text.find(':');
  if (colon == std::string::npos || colon == 0 || colon > 40 || colon + 1 >= voice.text.size() ||
      voice.text[colon + 1] != ' ')
    return;
  const std::string_view name = std::string_view(voice.text).substr(0, colon);
  const auto allowed = [](char c) {
    return (c >= 'A' && c <= 'Z') || is_digit(c) || c == '-' || c == '_' || c == ' ';
  };
  if (!std::all_of(name.begin(), name.end(), allowed) || name.front() < 'A') return;
  voice.speaker = name;
  voice.text.erase(0, colon + 2);
}

/// SubRip's placing marks: {\an8}.
std::string without_placing(std::string_view text) {
  std::string out;
  while (!text.empty()) {
    const std::size_t close = text.starts_with("{\\") ? text.find('}') : std::string_view::npos;
    if (close != std::string_view::npos) {
      text.remove_prefix(close + 1);
    } else {
      out += text.front();
      text.remove_prefix(1);
    }
  }
  return out;
}

bool all_digits(std::string_view text) {
  text = trimmed(text);
  return !text.empty() && std::all_of(text.begin(), text.end(), is_digit);
}

bool starts_word(std::string_view line, std::string_view word) {
  return line.starts_with(word) && (line.size() == word.size() || is_space(line[word.size()]));
}

}  // namespace

void CaptionReader::feed(std::string_view bytes) {
  for (const char c : bytes) {
    if (c == '\n' && after_return_) {
      after_return_ = false;
      continue;
    }
    after_return_ = c == '\r';
    if (c == '\n' || c == '\r') {
      end_line();
    } else if (pending_.size() < longest_line) {
      pending_ += c;
    } else {
      too_long_ = true;
    }
  }
}

void CaptionReader::finish() {
  if (!pending_.empty()) end_line();
  end_block();
}

std::vector<Cue> CaptionReader::take_cues() {
  return std::exchange(cues_, {});
}
std::vector<Fault> CaptionReader::take_faults() {
  return std::exchange(faults_, {});
}

void CaptionReader::fault(std::size_t line, std::string what) {
  faults_.push_back({"", std::move(what), line});
}

void CaptionReader::end_line() {
  Line line{++line_number_, std::exchange(pending_, {}), true};
  if (line.number == 1 && line.text.starts_with("\xEF\xBB\xBF")) line.text.erase(0, 3);
  line.utf8 = simdjson::validate_utf8(line.text);
  if (std::exchange(too_long_, false))
    fault(line.number, "line over 64 KiB, the rest of it dropped");
  take_line(std::move(line));
}

void CaptionReader::take_line(Line line) {
  if (line.number == 1 && format_ == CaptionFormat::web_vtt) {
    if (starts_word(line.text, "WEBVTT")) {
      seen_signature_ = true;
      block_.push_back(std::move(line));  // header, up to the first empty line
      return;
    }
    fault(1, "does not start with WEBVTT; what follows is kept");
  }
  if (trimmed(line.text).empty()) return end_block();
  if (line.text.find(arrow) != std::string::npos && !block_.empty()) {
    // Times end the cue before them, blank line or not; a lone line above them is their id.
    const bool cue_open = std::any_of(block_.begin(), block_.end(), [](const Line& open) {
      return open.text.find(arrow) != std::string::npos;
    });
    const bool header = block_.front().number == 1 && seen_signature_;
    if (cue_open || header) {
      std::vector<Line> next;
      const bool number_above = block_.size() > 1 &&
                                block_.back().text.find(arrow) == std::string::npos &&
                                all_digits(block_.back().text);
      if (number_above) {
        next.push_back(std::move(block_.back()));
        block_.pop_back();
      }
      end_block();
      block_ = std::move(next);
    }
  }
  block_.push_back(std::move(line));
}

void CaptionReader::end_block() {
  const std::vector<Line> block = std::exchange(block_, {});
  if (block.empty()) return;
  if (format_ == CaptionFormat::web_vtt) {
    const std::string& first = block.front().text;
    const bool header = block.front().number == 1 && seen_signature_;
    const bool has_times = std::any_of(block.begin(), block.end(), [](const Line& line) {
      return line.text.find(arrow) != std::string::npos;
    });
    if (header || (!has_times && (starts_word(first, "NOTE") || starts_word(first, "STYLE") ||
                                  starts_word(first, "REGION"))))
      return;
  }
  const auto times = std::find_if(block.begin(), block.end(), [](const Line& line) {
    return line.text.find(arrow) != std::string::npos;
  });
  if (times == block.end()) {
    fault(block.front().number, "text without times, skipped");
    return;
  }
  if (times - block.begin() > 1)
    fault(block.front().number, "text before the times of a cue, skipped");
  const Line* const id = times == block.begin() ? nullptr : &*(times - 1);
  read_cue(id, *times, &*times + 1, block.data() + block.size());
}

void CaptionReader::read_cue(const Line* id, const Line& times_line, const Line* first,
                             const Line* last) {
  const auto times = read_times(times_line.text, format_);
  if (!times) return fault(times_line.number, "times not in the form begin --> end, cue skipped");
  if (times->end < times->begin)
    return fault(times_line.number, "cue ends before it starts, skipped");

  std::string text;
  for (const Line* line = first; line != last; ++line) {
    if (!line->utf8) return fault(line->number, "not UTF-8, cue skipped");
    text += (text.empty() ? "" : " ") + std::string(trimmed(line->text));
  }
  if (id && !id->utf8) return fault(id->number, "not UTF-8, cue skipped");
  if (format_ == CaptionFormat::sub_rip) text = without_placing(text);

  std::vector<Voice> voices = voices_of(text);
  const std::size_t before = cues_.size();
  for (Voice& voice : voices) {
    voice.text = trimmed(voice.text);
    if (format_ == CaptionFormat::sub_rip && voice.speaker.empty()) split_speaker(voice);
    if (voice.text.empty()) continue;
    if (voice.text.size() > Limits::text_bytes)
      return fault(times_line.number, "text over 8 KiB, cue skipped");
    if (voice.speaker.size() > Limits::name_bytes)
      return fault(times_line.number, "speaker over 80 bytes, cue skipped");
    cues_.push_back({times_line.number, id ? std::string(trimmed(id->text)) : std::string(),
                     times->begin, times->end, std::move(voice.speaker), std::move(voice.text)});
  }
  if (cues_.size() == before) return fault(times_line.number, "cue without text, skipped");
  if (format_ == CaptionFormat::sub_rip && !id)
    fault(times_line.number, "cue without a number, kept");
  if (id && !ids_.insert(std::string(trimmed(id->text))).second) {
    fault(id->number,
          "number or name \"" + std::string(trimmed(id->text)) + "\" was used before, kept");
  }
}

Event voice_note(const Cue& cue, const CaptionClock& clock, std::string_view source,
                 std::string_view from) {
  // Our own name space, drawn once at random.
  static const Uuid space =
      boost::uuids::string_generator()("5d2f3b0e-7c41-4a86-9a6e-3f1f60c7b21d");
  boost::uuids::name_generator_sha1 generate(space);
  std::string name(source);
  name += '\n' + std::to_string(cue.begin.count()) + '\n' + cue.speaker + '\n' + cue.text;

  Event event;
  event.id = generate(name);
  event.at = clock.start;
  event.at.instant += cue.begin + clock.offset;
  event.from = cue.speaker.empty() ? std::string(from) : cue.speaker;
  VoiceNote note{cue.text, {}, {}};
  if (!cue.speaker.empty()) note.speaker = cue.speaker;
  // A slip in the end of a cue; the words are kept.
  const auto lasts = cue.end - cue.begin;
  if (lasts <= std::chrono::hours(24))
    note.duration_seconds = std::chrono::duration<double>(lasts).count();
  event.body = std::move(note);
  return event;
}

}  // namespace stonecall::protocol
