#include "console/reading/read_command.hpp"

#include <algorithm>
#include <array>
#include <istream>
#include <ostream>

#include <boost/algorithm/string/case_conv.hpp>
#include <boost/algorithm/string/predicate.hpp>
#include <nlohmann/json.hpp>

#include "console/reading/label_form.hpp"
#include "console/reading/reader.hpp"
#include "protocol/captions.hpp"

namespace stonecall::reading {
namespace {

using Json = nlohmann::ordered_json;

std::string text_member(const Json& object, const char* member) {
  const auto found = object.find(member);
  return found != object.end() && found->is_string() ? found->get<std::string>() : std::string();
}

std::vector<Named> names(const Json& plan, const char* list, const char* member) {
  std::vector<Named> named;
  const auto found = plan.find(list);
  if (found == plan.end() || !found->is_array()) return named;
  for (const Json& entry : *found) {
    if (!entry.is_object()) continue;
    Named one{text_member(entry, member), {}};
    if (one.name.empty()) continue;
    if (const auto spoken = entry.find("spoken"); spoken != entry.end() && spoken->is_array()) {
      for (const Json& word : *spoken) {
        if (word.is_string()) one.spoken.push_back(word.get<std::string>());
      }
    }
    named.push_back(std::move(one));
  }
  return named;
}

PlannedWords planned_words(const Json& object) {
  // A plan event wraps the plan; a plain plan line is one.
  const auto inner = object.find("plan");
  const Json& plan = inner != object.end() && inner->is_object() ? *inner : object;
  PlannedWords words{{names(plan, "vocabulary", "rock"), names(plan, "stations", "station")},
                     text_member(plan, "base")};
  if (const auto base = plan.find("base"); base != plan.end() && base->is_object())
    words.base = text_member(*base, "station");
  return words;
}

class Notes {
 public:
  Notes(std::ostream& out, const ReadCommand& command)
      : out_(out), base_(command.base), reader_(Vocabulary{}) {
    begin_anew();
    if (!command.plan) return;
    follow_plan(*command.plan);
    plan_given_ = true;
  }

  void plan(const Json& line) {
    if (!plan_given_) follow_plan(planned_words(line));
  }

  void note(const std::string& id, const std::string& from, const std::string& text) {
    Json facts = Json::array();
    if (from.empty() || from != base_) {
      heard_of(from);
      const std::vector<Proposal> proposals = reader_.read(text, context_);
      for (const Proposal& proposal : proposals) facts.push_back(label_form(proposal));
      follow(context_, proposals);
    }
    const Json line{{"id", id}, {"facts", std::move(facts)}};
    out_ << line.dump(-1, ' ', false, Json::error_handler_t::replace) << '\n';
  }

 private:
  void heard_of(const std::string& from) {
    const std::string name = boost::algorithm::to_lower_copy(from);
    context_.speaker = name;
    if (!name.empty() && std::ranges::find(context_.party, name) == context_.party.end())
      context_.party.push_back(name);
  }

  void follow_plan(const PlannedWords& plan) {
    reader_ = Reader(plan.vocabulary);
    if (!plan.base.empty()) base_ = plan.base;
    begin_anew();
  }

  /// Nothing is known yet but what base is called.
  void begin_anew() {
    context_ = {};
    if (!base_.empty()) context_.back_room = {boost::algorithm::to_lower_copy(base_)};
  }

  std::ostream& out_;
  std::string base_;
  bool plan_given_ = false;
  Reader reader_;
  Context context_;
};

void read_json_lines(std::istream& in, Notes& notes, std::vector<protocol::Fault>& faults) {
  std::string line;
  for (std::size_t number = 1; std::getline(in, line); ++number) {
    if (std::all_of(line.begin(), line.end(),
                    [](unsigned char c) { return c == ' ' || c == '\r' || c == '\t'; }))
      continue;
    const auto fault = [&](const char* member, const char* what) {
      faults.push_back({member, what, number});
    };
    const Json json = Json::parse(line, nullptr, false);
    if (json.is_discarded()) {
      fault("", "not JSON, or not UTF-8");
      continue;
    }
    if (!json.is_object()) {
      fault("", "not an object");
      continue;
    }
    const std::string kind = text_member(json, "kind");
    if (kind == "plan") {
      notes.plan(json);
      continue;
    }
    if (!kind.empty() && kind != "voice_note") continue;
    const auto text = json.find("text");
    if (text == json.end() || !text->is_string()) {
      fault("text", "missing, or not text");
      continue;
    }
    std::string id = text_member(json, "id");
    if (id.empty()) id = std::to_string(number);
    notes.note(id, text_member(json, "from"), text->get<std::string>());
  }
}

void read_captions(std::istream& in, Notes& notes, protocol::CaptionFormat format,
                   std::vector<protocol::Fault>& faults) {
  protocol::CaptionReader captions(format);
  const auto take = [&] {
    for (const protocol::Cue& cue : captions.take_cues()) {
      notes.note(cue.id.empty() ? std::to_string(cue.line) : cue.id, cue.speaker, cue.text);
    }
    for (protocol::Fault& fault : captions.take_faults()) faults.push_back(std::move(fault));
  };
  std::array<char, 16 * 1024> buffer;
  do {
    in.read(buffer.data(), buffer.size());
    captions.feed({buffer.data(), static_cast<std::size_t>(in.gcount())});
    take();
  } while (in);
  captions.finish();
  take();
}

}  // namespace

NoteFormat note_format(std::string_view file_name) {
  if (boost::algorithm::iends_with(file_name, ".vtt")) return NoteFormat::web_vtt;
  if (boost::algorithm::iends_with(file_name, ".srt")) return NoteFormat::sub_rip;
  return NoteFormat::json_lines;
}

protocol::Result<PlannedWords> parse_planned_words(std::string_view text) {
  Json json = Json::parse(text, nullptr, false);
  if (json.is_discarded()) json = Json::parse(text.substr(0, text.find('\n')), nullptr, false);
  if (json.is_discarded())
    return tl::unexpected(protocol::Fault{"", "not JSON, or not UTF-8", std::nullopt});
  PlannedWords words = json.is_object() ? planned_words(json) : PlannedWords{};
  if (words.vocabulary == Vocabulary{})
    return tl::unexpected(
        protocol::Fault{"", "no plan: neither \"vocabulary\" nor \"stations\"", std::nullopt});
  return words;
}

std::vector<protocol::Fault> read_notes(std::istream& in, std::ostream& out,
                                        const ReadCommand& command) {
  std::vector<protocol::Fault> faults;
  Notes notes(out, command);
  switch (command.format) {
    case NoteFormat::json_lines:
      read_json_lines(in, notes, faults);
      break;
    case NoteFormat::web_vtt:
      read_captions(in, notes, protocol::CaptionFormat::web_vtt, faults);
      break;
    case NoteFormat::sub_rip:
      read_captions(in, notes, protocol::CaptionFormat::sub_rip, faults);
      break;
  }
  return faults;
}

}  // namespace stonecall::reading
