package workshop

import (
	"context"
	"io"
)

// CuttingWorkbook writes the workbook of a planned batch.
func (s *Service) CuttingWorkbook(ctx context.Context, w io.Writer, workshop, batchID int64) error {
	return notThere("workbook")
}

// PricingWorkbook writes the cost sheets and prices of a colourway, or of all if it is 0.
func (s *Service) PricingWorkbook(ctx context.Context, w io.Writer, workshop, colourway int64) error {
	return notThere("workbook")
}
