#include "server/said_index.hpp"

#include <algorithm>
#include <variant>

#include "server/layout.hpp"

namespace stonecall::server {
namespace {

/// Each word must occur; what FTS5 would take for an operator is only a word here.
std::string all_words(std::string_view words) {
  std::string query;
  std::size_t from = 0;
  while (from < words.size()) {
    const std::size_t begin = words.find_first_not_of(" \t\r\n", from);
    if (begin == std::string_view::npos) break;
    const std::size_t end = std::min(words.find_first_of(" \t\r\n", begin), words.size());
    query += query.empty() ? "\"" : " \"";
    for (const char c : words.substr(begin, end - begin))
      query += c == '"' ? std::string("\"\"") : std::string(1, c);
    query += '"';
    from = end;
  }
  return query;
}

std::string said_in_line(std::string_view line) {
  const auto event = protocol::parse_event(line);
  return event ? said_in(*event) : std::string();
}

void insert_words(SQLite::Statement& insert, Sequence seq, const std::string& words) {
  insert.bind(1, static_cast<std::int64_t>(seq));
  insert.bindNoCopy(2, words);
  insert.exec();
  insert.reset();
}

Sequence number(const SQLite::Column& column) {
  return static_cast<Sequence>(column.getInt64());
}

}  // namespace

std::string said_in(const protocol::Event& event) {
  std::string said;
  const auto take = [&](std::string_view words) {
    if (!said.empty() && !words.empty()) said += '\n';
    said += words;
  };
  const auto take_if = [&](const auto& words) {
    if (words) take(*words);
  };
  std::visit(
      [&](const auto& body) {
        if constexpr (requires { std::string(body.text); }) {
          take(body.text);
        } else if constexpr (requires { std::string(*body.text); }) {
          take_if(body.text);
        } else if constexpr (requires { body.description; }) {
          for (const auto* words : {&body.description, &body.picked, &body.relation, &body.shape,
                                    &body.colour, &body.texture})
            take_if(*words);
        }
        if constexpr (requires { body.changes; }) {
          // Names and times are no words.
          for (const char* member :
               {"text", "description", "picked", "relation", "shape", "colour", "texture"}) {
            const auto now = body.changes.find(member);
            if (now != body.changes.end() && now->is_string())
              take(now->template get_ref<const std::string&>());
          }
        }
        if constexpr (requires { body.why; }) take_if(body.why);
      },
      event.body);
  return said;
}

std::string make_said_index(const std::string& table) {
  return "CREATE VIRTUAL TABLE " + table +
         " USING fts5(words, content='', tokenize=\"unicode61 remove_diacritics 2\")";
}

SaidIndexer::SaidIndexer(SQLite::Database& db)
    : db_(db),
      events_(db, "SELECT seq, line FROM events WHERE seq > ? ORDER BY seq LIMIT ?"),
      insert_(db, "INSERT INTO said(rowid, words) VALUES(?, ?)"),
      note_through_(db, "UPDATE indexed SET through = ?"),
      through_(number(db.execAndGet("SELECT through FROM indexed"))) {}

void SaidIndexer::take(std::size_t most) {
  // One that a fault broke off would hold on to a state of the store that can not be written to.
  for (auto* statement : {&events_, &insert_, &note_through_}) statement->tryReset();
  SQLite::Transaction transaction(db_, SQLite::TransactionBehavior::IMMEDIATE);
  Sequence through = through_;
  events_.bind(1, static_cast<std::int64_t>(through));
  events_.bind(2, static_cast<std::int64_t>(most));
  while (events_.executeStep()) {
    through = number(events_.getColumn(0));
    const std::string words = said_in_line(layout::text_of(events_.getColumn(1)));
    if (!words.empty()) insert_words(insert_, through, words);
  }
  events_.reset();
  note_through_.bind(1, static_cast<std::int64_t>(through));
  note_through_.exec();
  note_through_.reset();
  transaction.commit();
  through_ = through;
}

SaidSearch::SaidSearch(SQLite::Database& db)
    : db_(db), all_is_indexed_(layout::version_of(db) < 2) {
  db.exec("PRAGMA temp_store=MEMORY");
  db.exec(make_said_index("temp.tail"));
  find_.emplace(db, "SELECT " + layout::event_columns(db) +
                        " FROM events WHERE seq IN ("
                        "SELECT rowid FROM said WHERE said MATCH ?1 UNION ALL "
                        "SELECT rowid FROM temp.tail WHERE tail MATCH ?1) ORDER BY seq LIMIT ?2");
  if (all_is_indexed_) return;
  tail_.emplace(db,
                "SELECT seq, line FROM events WHERE seq > (SELECT through FROM indexed) "
                "ORDER BY seq");
  insert_.emplace(db, "INSERT INTO temp.tail(rowid, words) VALUES(?, ?)");
}

void SaidSearch::find(std::string_view words, std::size_t most,
                      const std::function<void(const layout::Row&)>& found) {
  const std::string query = all_words(words);
  if (query.empty()) return;
  // One transaction: the index, and what it has not come to, as they are at one moment.
  const SQLite::Transaction transaction(db_);
  take_tail();
  find_->bind(1, query);
  find_->bind(2, static_cast<std::int64_t>(most));
  while (find_->executeStep()) found(layout::Row(*find_));
  find_->reset();
}

void SaidSearch::take_tail() {
  if (all_is_indexed_) return;
  // Whatever is put in here goes with the transaction, which is never committed.
  while (tail_->executeStep()) {
    const std::string said = said_in_line(layout::text_of(tail_->getColumn(1)));
    if (!said.empty()) insert_words(*insert_, number(tail_->getColumn(0)), said);
  }
  tail_->reset();
}

}  // namespace stonecall::server
