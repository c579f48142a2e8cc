#pragma once

#include <string>

#include "protocol/event.hpp"
#include "tests/support/folder.hpp"

/// Events and places for the server's tests: an invented party on an invented lava field.
namespace stonecall::server::tests {

using stonecall::tests::Folder;

inline protocol::Timestamp time_of(const std::string& text) {
  return protocol::parse_timestamp(text).value();
}

inline protocol::Event note(const std::string& text,
                            const std::string& at = "2027-05-18T09:07:25.000+02:00") {
  protocol::Event event;
  event.id = protocol::random_uuid();
  event.at = time_of(at);
  event.from = "FIELD-1";
  event.body = protocol::VoiceNote{text, "Ilse", {}};
  return event;
}

inline protocol::Event look(int basalt, int scoria) {
  protocol::Event event;
  event.id = protocol::random_uuid();
  event.at = time_of("2027-05-18T09:08:00.000+02:00");
  event.from = "FIELD-1";
  event.body = protocol::Tally{{{"basalt", basalt}, {"scoria", scoria}}, basalt + scoria, {}};
  return event;
}

/// The exercise lies in another year than the machine's clock, so the server marks its events; else
/// they are as sent.
inline bool same_as_sent(protocol::Event stored, const protocol::Event& sent) {
  if (stored.unknown.is_object()) stored.unknown.erase("clock_off");
  return protocol::same_content(stored, sent);
}

}  // namespace stonecall::server::tests
