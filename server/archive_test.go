package server_test

import (
	"archive/zip"
	"bytes"
	"io"
	"net/http"
	"regexp"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"yardwright/server/privatepg/pgtest"
)

// archive posts for the archive of a site.
func (s site) archive(t *testing.T) []byte {
	t.Helper()
	response, err := s.Client().Post(s.URL+"/workshop/archive.zip", "application/x-www-form-urlencoded", nil)
	require.NoError(t, err)
	content, err := io.ReadAll(response.Body)
	require.NoError(t, err)
	require.NoError(t, response.Body.Close())
	require.Equal(t, http.StatusOK, response.StatusCode)
	require.Equal(t, "application/zip", response.Header.Get("Content-Type"))
	require.Regexp(t, `filename="quillfen-workroom-\d{4}-\d\d-\d\d.zip"`, response.Header.Get("Content-Disposition"))
	return content
}

// The pages of a workshop that was read from a file show the same as those that it was written
// from; only into an empty workshop can it be read.
func TestAWorkshopMovesHouse(t *testing.T) {
	t.Parallel()
	old, moved := servePlanned(t), serve(t, pgtest.URL(t))
	require.Contains(t, old.get(t, "/workshop", http.StatusOK), `href="/workshop/archive"`)
	page := old.get(t, "/workshop/archive", http.StatusOK)
	require.Contains(t, page, "only read into an empty one")
	require.NotContains(t, page, `type="file"`)
	content := old.archive(t)
	text, _ := old.upload(t, "/workshop/archive", "w.zip", string(content), http.StatusUnprocessableEntity)
	require.Contains(t, text, "only read into an empty one")

	require.Contains(t, moved.get(t, "/workshop/archive", http.StatusOK), `type="file"`)
	text, _ = moved.upload(t, "/workshop/archive", "w.zip", string(content[:len(content)/2]), http.StatusUnprocessableEntity)
	require.Contains(t, text, "cut short")
	text, _ = moved.upload(t, "/workshop/archive", "w.zip", string(tampered(t, content)), http.StatusUnprocessableEntity)
	require.Contains(t, text, "<strong>cloths.jsonl</strong>: This file was changed after it was written")
	require.Contains(t, moved.post(t, "/workshop/archive", nil, http.StatusUnprocessableEntity), "Choose a file.")
	text, at := moved.upload(t, "/workshop/archive", "w.zip", string(content), http.StatusOK)
	require.Equal(t, "/", at)
	require.Contains(t, text, "All that was in the file is here now")

	// What changes with each request or has its own key is left aside.
	own := regexp.MustCompile(`/calendar/[0-9a-f]+|name="version" value="\d+"|name="key" value="\w+"|class="note notice" role="status">.*?</div>|127\.0\.0\.1:\d+`)
	for _, path := range []string{
		"/", "/orders", "/orders/1", "/styles", "/styles/1", "/styles/1/pieces/0", "/styles/1/templates", "/charts/1", "/shelf", "/shelf/bolts/1", "/shelf/cloths/1", "/shelf/notions/1",
		"/batches", "/batches/1", "/batches/1/sheet", "/batches/1/tickets", "/batches/1/bundles/1", "/workshop", "/workshop/year", "/workshop/choices", "/workshop/channels/1", "/orders.csv", "/styles.csv", "/cloths.csv",
	} {
		require.Equal(t, own.ReplaceAllString(old.get(t, path, http.StatusOK), ""), own.ReplaceAllString(moved.get(t, path, http.StatusOK), ""), path)
	}
	require.Equal(t, old.get(t, "/prices.csv", http.StatusOK), moved.get(t, "/prices.csv", http.StatusOK))
	require.NotContains(t, moved.log.String(), "level=ERROR")
}

// tampered changes a letter in the cloths, without the manifest knowing.
func tampered(t *testing.T, content []byte) []byte {
	t.Helper()
	read, err := zip.NewReader(bytes.NewReader(content), int64(len(content)))
	require.NoError(t, err)
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, file := range read.File {
		from, err := file.Open()
		require.NoError(t, err)
		text, err := io.ReadAll(from)
		require.NoError(t, err)
		if file.Name == "cloths.jsonl" {
			text = bytes.Replace(text, []byte(`"name":"`), []byte(`"name":"X`), 1)
		}
		to, err := w.Create(file.Name)
		require.NoError(t, err)
		_, err = to.Write(text)
		require.NoError(t, err)
	}
	require.NoError(t, w.Close())
	return out.Bytes()
}

// A file that is far too large is refused without being read.
func TestALargeArchiveIsRefusedUnread(t *testing.T) {
	t.Parallel()
	s := serve(t, pgtest.URL(t))
	request, err := http.NewRequestWithContext(t.Context(), http.MethodPost, s.URL+"/workshop/archive", unwanted{t})
	require.NoError(t, err)
	request.Header.Set("Content-Type", "multipart/form-data; boundary=x")
	request.Header.Set("Expect", "100-continue") // sends nothing until the server wants it
	request.ContentLength = 100 << 20
	patient := &http.Transport{ExpectContinueTimeout: time.Minute}
	t.Cleanup(patient.CloseIdleConnections)
	response, err := (&http.Client{Transport: patient}).Do(request)
	require.NoError(t, err)
	text, err := io.ReadAll(response.Body)
	require.NoError(t, err)
	require.NoError(t, response.Body.Close())
	require.Equal(t, http.StatusUnprocessableEntity, response.StatusCode)
	require.Contains(t, string(text), "The file has 100 MB; at most 64 MB are read.")
}

// unwanted is a body that nobody may read.
type unwanted struct{ t *testing.T }

func (u unwanted) Read([]byte) (int, error) {
	u.t.Error("the file was read")
	return 0, io.EOF
}
