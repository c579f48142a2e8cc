#pragma once

#include <cstddef>
#include <filesystem>
#include <sstream>
#include <string>
#include <vector>

#include <SQLiteCpp/SQLiteCpp.h>

#include "protocol/event.hpp"

namespace stonecall::server::tests {

/// Makes a store as the program did before its search index ran behind: `lines` are the events in
/// order as they are stored, `said` what the first of them says.
inline void make_first_layout(const std::filesystem::path& file,
                              const std::vector<protocol::Event>& events, const std::string& lines,
                              const std::string& said) {
  SQLite::Database db(file.string(), SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
  db.exec("PRAGMA journal_mode=WAL");
  db.exec(R"(
    CREATE TABLE events(seq INTEGER PRIMARY KEY, id BLOB NOT NULL UNIQUE, line TEXT NOT NULL);
    CREATE VIRTUAL TABLE said USING fts5(words, content='', tokenize="unicode61 remove_diacritics 2");
    PRAGMA user_version=1;)");
  SQLite::Statement words(db, "INSERT INTO said(rowid, words) VALUES(1, ?)");
  words.bind(1, said);
  words.exec();
  SQLite::Statement insert(db, "INSERT INTO events VALUES(?, ?, ?)");
  std::istringstream text(lines);
  for (std::size_t i = 0; i < events.size(); ++i) {
    std::string line;
    std::getline(text, line);
    insert.bind(1, static_cast<std::int64_t>(i + 1));
    insert.bind(2, events[i].id.data, static_cast<int>(events[i].id.size()));
    insert.bind(3, line);
    insert.exec();
    insert.reset();
  }
}

}  // namespace stonecall::server::tests
